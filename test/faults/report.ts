import { addFingerprint, checksum, differences, emptyFingerprint, type Fingerprint, readLake } from './fingerprint.js';
import type { SentLog } from './load.js';
import type { Path } from './path.js';

/** One vehicle: rows, and a checksum over them, of what was sent and of what is in the lake. */
export interface VehicleReport {
  vehicle: string;
  expected: { rows: number; checksum: string };
  found: { rows: number; checksum: string };
}

export interface Report {
  name: string;
  /** What was done how often: `kills: 50`. */
  done: Record<string, number>;
  uploads: number;
  refusals: number;
  rowsExpected: number;
  rowsFound: number;
  rowsDuplicated: number;
  rowsLost: number;
  vehicles: VehicleReport[];
  /** Vehicles whose count or sums differ, in words. */
  differences: string[];
  /** Uploads that were reported as stored while the lake did not have them. */
  reportedTooEarly: number;
  /** Whether everything acknowledged had come to an end when the lake was looked at. */
  settled: boolean;
  seconds: number;
}

/** Holds the lake against what was acknowledged. */
export async function compareLake(
  path: Path,
  load: { acknowledged: readonly SentLog[]; refusals: number },
  facts: Pick<Report, 'name' | 'done'> & Partial<Pick<Report, 'reportedTooEarly' | 'settled'>> & { beganMs: number },
): Promise<Report> {
  const content = await readLake(path.lake);
  const expected = new Map<string, Fingerprint>();
  let lost = 0;
  for (const log of load.acknowledged) {
    if (!expected.has(log.vehicle)) expected.set(log.vehicle, emptyFingerprint());
    addFingerprint(expected.get(log.vehicle)!, log.expected);
    lost += Math.max(0, log.expected.rows - (content.uploads.get(log.id) ?? 0));
  }
  const pairs = [...new Set([...expected.keys(), ...content.fingerprints.keys()])].sort().map((vehicle) => ({
    vehicle,
    expected: expected.get(vehicle) ?? emptyFingerprint(),
    found: content.fingerprints.get(vehicle) ?? emptyFingerprint(),
  }));
  const short = (fingerprint: Fingerprint) => ({ rows: fingerprint.rows, checksum: checksum(fingerprint) });
  const sum = (fingerprints: Iterable<Fingerprint>) => [...fingerprints].reduce((total, one) => total + one.rows, 0);
  const { beganMs, reportedTooEarly = 0, settled = true, name, done } = facts;
  return {
    name,
    done,
    reportedTooEarly,
    settled,
    uploads: load.acknowledged.length,
    refusals: load.refusals,
    rowsExpected: sum(expected.values()),
    rowsFound: sum(content.fingerprints.values()),
    rowsDuplicated: content.duplicated,
    rowsLost: lost,
    vehicles: pairs.map((pair) => ({
      vehicle: pair.vehicle,
      expected: short(pair.expected),
      found: short(pair.found),
    })),
    differences: pairs.flatMap((pair) =>
      differences(pair.expected, pair.found).map((difference) => `${pair.vehicle}: ${difference}`),
    ),
    seconds: (Date.now() - beganMs) / 1000,
  };
}

export const isClean = (report: Report): boolean =>
  report.settled &&
  report.rowsExpected > 0 &&
  report.rowsFound === report.rowsExpected &&
  report.rowsDuplicated === 0 &&
  report.rowsLost === 0 &&
  report.differences.length === 0 &&
  report.reportedTooEarly === 0;

/** A line for each vehicle: rows and checksum, sent and found. */
export function vehicleLines(report: Report): string[] {
  return report.vehicles.map(({ vehicle, expected, found }) => {
    const equal = expected.rows === found.rows && expected.checksum === found.checksum;
    return `       ${vehicle}: ${expected.rows} rows ${expected.checksum} expected, ${found.rows} rows ${found.checksum} found${equal ? '' : '  DIFFERS'}`;
  });
}

/** One line with the totals, and the differences under it. */
export function reportLines(report: Report): string[] {
  const done = Object.entries(report.done).map(([what, count]) => `${count} ${what}`);
  return [
    `${isClean(report) ? 'ok  ' : 'FAIL'} ${report.name}: ${done.join(', ')}; uploads acknowledged ${report.uploads}, tries without answer ${report.refusals}; rows expected ${report.rowsExpected}, found ${report.rowsFound}, duplicated ${report.rowsDuplicated}, lost ${report.rowsLost}; reported too early ${report.reportedTooEarly}${report.settled ? '' : '; UPLOADS STAND STILL'}; checksums ${report.differences.length === 0 ? 'equal for every vehicle' : 'DIFFER'}; ${report.seconds.toFixed(0)} s`,
    ...report.differences.slice(0, 10).map((difference) => `       ${difference}`),
  ];
}
