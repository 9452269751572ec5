import type { Fleet, Profile } from '@tallybay/contracts';
import { createLogReader, type LogPlan, planLog, SIGNALS, timeNeed } from '@tallybay/decode';
import {
  DIALECTS,
  demoFleet,
  generateFleet,
  type LogEntry,
  type Manifest,
  type TruthDocument,
  type VehicleTruth,
} from '@tallybay/synthetic-fleet';
import { beforeAll, describe, expect, it } from 'vitest';

// What the generator wrote, read back by the decoder, against the truth of the model. Both sides are ours; they share the
// names of signals and nothing else.
const SEED = 5;
const HOLD_MS = 5000;
const HEAD_BYTES = 65_536;
const SIGNAL_IDS = new Set<string>(SIGNALS.map((signal) => signal.id));

/** Reading at or above `stage` lies between the true seconds at `stage` and at `below`: half a sensor step either way. */
const CHECKS = [
  { signal: 'coolant_temp_c', stage: 105, below: 104 },
  { signal: 'coolant_temp_c', stage: 116, below: 115 },
  { signal: 'coolant_temp_c', stage: 121, below: 120 },
  { signal: 'engine_oil_temp_c', stage: 120, below: 116 },
  { signal: 'trans_fluid_temp_c', stage: 110, below: 107 },
] as const;

interface ReadLog {
  entry: LogEntry;
  plan: LogPlan;
  rows: number;
  firstMs: number;
  lastMs: number;
  rejected: number;
  seconds: number[];
}

const logs: ReadLog[] = [];
let truth: TruthDocument;
let bytesOf: Map<string, Buffer>;

beforeAll(() => {
  const generated = generateAll();
  truth = generated.truth;
  bytesOf = generated.bytesOf;
  for (const entry of generated.manifest.files)
    if (entry.kind === 'log' && entry.duplicateOf === null) logs.push(readLog(entry, generated.fleet.profiles));
}, 120_000);

describe('a fleet of every dialect, read back', () => {
  it('holds every dialect of the table', () => {
    expect(new Set(logs.map((log) => log.entry.dialect)), `seed ${SEED}`).toEqual(
      new Set(DIALECTS.map((row) => row.id)),
    );
  });

  it('maps every channel of the catalogue and leaves the others unmapped', () => {
    for (const { entry, plan } of logs)
      for (const channel of entry.channels) {
        const bare = channel.header.replace(/ ?[([][^)\]]*[)\]]$/, '');
        const read = plan.channels.find((row) => row.header === channel.header || row.header === bare);
        // Torque without a unit may as well be a share of a reference torque (SAE J1939 SPN 513), so it is left alone.
        const isUnclear = entry.dialect === 'epoch-no-units' && channel.signal === 'engine_torque_nm';
        const wanted = SIGNAL_IDS.has(channel.signal) && !isUnclear ? channel.signal : null;
        if (isUnclear) expect(read?.why).toMatch(/tells only with a unit/);
        expect(read?.signal ?? null, `seed ${SEED} ${entry.dialect} "${channel.header}": ${read?.why}`).toBe(wanted);
      }
  });

  it('reads the same rows and instants, and rejects the damaged rows only', () => {
    for (const log of logs) {
      const where = `seed ${SEED} ${log.entry.dialect} ${log.entry.file}`;
      expect(log.rows, where).toBe(log.entry.expect.rowsKept);
      expect(log.rejected, where).toBe(log.entry.expect.rowsRejected);
      expect(new Date(log.firstMs).toISOString(), where).toBe(log.entry.firstAt);
      expect(new Date(log.lastMs).toISOString(), where).toBe(log.entry.lastAt);
    }
  });

  it('finds the VIN and recorder where a header block has them', () => {
    for (const log of logs.filter(
      (one) => one.entry.send.vehicle === undefined && one.entry.send.recorder === undefined,
    )) {
      if (log.entry.expect.waitsFor === 'vehicle_missing') expect(log.plan.vin, log.entry.file).toBeNull();
      else expect(log.plan.recorder, log.entry.file).toBe(log.entry.recorder);
    }
  });

  it('counts the seconds above each stage that the truth has, within sensor steps and row spacing', () => {
    let hot = 0;
    for (const vehicle of truth.vehicles) for (const week of vehicle.weeks) hot += compareWeek(vehicle, week.week);
    expect(hot, 'vehicle-weeks that were hot at all').toBeGreaterThan(4);
  });

  it('gives a duplicate the same bytes', () => {
    const copies = [...bytesOf.keys()].filter((path) => path.includes('(copy)'));
    expect(copies.length).toBeGreaterThan(0);
    for (const copy of copies)
      expect(bytesOf.get(copy)?.equals(bytesOf.get(copy.replace(' (copy)', '')) as Buffer), copy).toBe(true);
  });
});

function compareWeek(vehicle: VehicleTruth, week: string): number {
  const paths = new Set(vehicle.drives.filter((drive) => drive.week === week).map((drive) => drive.log));
  const own = logs.filter((log) => paths.has(log.entry.file));
  const exposure = vehicle.weeks.find((row) => row.week === week)?.exposure;
  let hot = 0;
  CHECKS.forEach((check, index) => {
    if (check.signal === 'coolant_temp_c' && (vehicle.badCoolantSensor || !vehicle.hasCoolantChannel)) return;
    if (vehicle.sensorFaults.some((fault) => fault.kind === 'wrong_unit')) return;
    const stages = exposure?.[check.signal].stages ?? {};
    const [low, high] = [stages[check.stage]?.seconds as number, stages[check.below]?.seconds as number];
    const read = own.reduce((sum, log) => sum + (log.seconds[index] as number), 0);
    // Row spacing at either end of each drive, key-on seconds, and what restarts (at most 45 s) left out.
    const slack = own.length * 8 + own.reduce((sum, log) => sum + log.entry.restarts * 46, 0);
    const where = `seed ${SEED} ${vehicle.id} ${week} ${check.signal} >= ${check.stage}: read ${read}, true ${low} to ${high}`;
    expect(read, where).toBeGreaterThanOrEqual(low - slack - 0.02 * low);
    expect(read, where).toBeLessThanOrEqual(high + slack + 0.02 * high);
    if (low > 60) hot += 1;
  });
  return hot;
}

function generateAll() {
  const bytes = new Map<string, Buffer>();
  const documents = new Map<string, string>();
  const options = { ...demoFleet, seed: SEED, rateHz: 1, scale: 0.3, maxDriveMinutes: 30, weeks: 2 };
  for (const file of generateFleet(options)) {
    const content = Buffer.concat([...file.chunks]);
    if (file.kind === 'log') bytes.set(file.path, content);
    if (file.kind === 'document') documents.set(file.path, (documents.get(file.path) ?? '') + content.toString());
  }
  const parse = (path: string): unknown => JSON.parse(documents.get(path) as string);
  return {
    bytesOf: bytes,
    truth: parse('truth.json') as TruthDocument,
    manifest: parse('manifest.json') as Manifest,
    fleet: parse('fleet.json') as Fleet,
  };
}

function readLog(entry: LogEntry, profiles: Profile[]): ReadLog {
  const bytes = bytesOf.get(entry.file) as Buffer;
  const { recordedAt, ...hints } = entry.send;
  const planned = planLog(
    bytes.subarray(0, HEAD_BYTES),
    {
      ...hints,
      ...(recordedAt ? { recordedAtMs: Date.parse(recordedAt) } : {}),
      profile: profiles.find((profile) => profile.recorder === entry.recorder),
    },
    { complete: bytes.length <= HEAD_BYTES },
  );
  if (!planned.ok) throw new Error(`seed ${SEED} ${entry.file}: ${planned.problem.detail}`);
  expect(timeNeed(planned.plan), `seed ${SEED} ${entry.file}`).toBeNull();
  return decode(entry, planned.plan, bytes);
}

/** Reads all rows; seconds by the hold rule: a value holds until the signal's next valid row, if that is within 5 s. */
function decode(entry: LogEntry, plan: LogPlan, bytes: Buffer): ReadLog {
  const log: ReadLog = { entry, plan, rows: 0, firstMs: Number.NaN, lastMs: Number.NaN, rejected: 0, seconds: [] };
  const held = CHECKS.map((check) => ({
    ...check,
    at: plan.signals.indexOf(check.signal),
    ms: Number.NaN,
    value: 0,
    sum: 0,
  }));
  const reader = createLogReader(plan, (batch) => {
    for (let row = 0; row < batch.rowCount; row += 1) {
      const ms = batch.timeMs[row] as number;
      if (log.rows === 0) log.firstMs = ms;
      log.lastMs = ms;
      log.rows += 1;
      for (const check of held) {
        const value = check.at < 0 ? Number.NaN : (batch.values[check.at]?.[row] as number);
        if (Number.isNaN(value)) continue;
        const step = ms - check.ms;
        if (step > 0 && step <= HOLD_MS && check.value >= check.stage) check.sum += step / 1000;
        check.ms = ms;
        check.value = value;
      }
    }
  });
  reader.push(bytes);
  log.rejected = Object.values(reader.finish().rowsRejectedBy).reduce((sum, count) => sum + count, 0);
  log.seconds = held.map((check) => check.sum);
  return log;
}
