import {
  CATALOGUE_VERSION,
  createAccumulator,
  createReader,
  type LogPlan,
  type PlanHints,
  planAnyLog,
} from '@tallybay/decode';
import { commitStaged, LogWriter } from '@tallybay/lake';

/** Decodes a log as a worker does and puts it into the lake. */
export async function storeLog(
  lake: string,
  log: { vehicle: string; upload: string; text: string; hints?: PlanHints },
): Promise<LogPlan> {
  const bytes = new TextEncoder().encode(log.text);
  const planned = planAnyLog(bytes.subarray(0, 65_536), log.hints ?? {}, { complete: bytes.length <= 65_536 });
  if (!planned.ok) throw new Error(planned.problem.detail);
  const { plan } = planned;
  const identity = { vehicleId: log.vehicle, uploadId: log.upload, recorderId: null, fileName: null };
  const writer = new LogWriter(lake, { ...identity, catalogueVersion: CATALOGUE_VERSION }, plan, 'test');
  const accumulator = createAccumulator(plan);
  const reader = createReader(plan, (batch) => {
    accumulator.add(batch);
    writer.add(batch);
  });
  reader.push(bytes);
  await commitStaged(lake, writer.finish(accumulator.finish(reader.finish())));
  return plan;
}

/** One sample of a drive, in canonical units. */
export interface DriveRow {
  timeMs: number;
  rpm: number;
  speedKmh: number;
  coolantC: number;
  transC?: number;
}

/** The same rows as two recorders write them: ISO times, commas and °C; epoch milliseconds, semicolons and °F. */
export const DIALECTS = {
  iso: {
    header: 'time,Engine RPM (rpm),Vehicle speed (km/h),Coolant temperature (°C)',
    row: (row: DriveRow) =>
      `${new Date(row.timeMs).toISOString()},${row.rpm},${row.speedKmh},${row.coolantC.toFixed(3)}`,
  },
  epoch: {
    header: 'Timestamp (ms);Coolant temperature (°F);Vehicle speed (km/h);Engine RPM (rpm)',
    row: (row: DriveRow) => `${row.timeMs};${((row.coolantC * 9) / 5 + 32).toFixed(4)};${row.speedKmh};${row.rpm}`,
  },
  transOnly: {
    header: 'time,Engine RPM (rpm),Transmission fluid temperature (°C)',
    row: (row: DriveRow) => `${new Date(row.timeMs).toISOString()},${row.rpm},${(row.transC ?? 80).toFixed(2)}`,
  },
} as const;

export const writeLog = (rows: readonly DriveRow[], dialect: keyof typeof DIALECTS): string =>
  [DIALECTS[dialect].header, ...rows.map(DIALECTS[dialect].row), ''].join('\n');

/** A drive at a row a second whose coolant climbs to 112 °C in the middle and comes back. */
export function driveRows(startMs: number, minutes: number): DriveRow[] {
  return Array.from({ length: minutes * 60 }, (_item, index) => {
    const share = index / (minutes * 60);
    return {
      ...{ timeMs: startMs + index * 1000, rpm: 1500 + (index % 7) * 20, speedKmh: 60 + (index % 40) / 2 },
      coolantC: 88 + 24 * Math.sin(Math.PI * share) ** 2 + ((index * 7) % 11) / 40,
      transC: 90 + 20 * share,
    };
  });
}
