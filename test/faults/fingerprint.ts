import { createHash } from 'node:crypto';
import { createReader, planAnyLog, type SampleBatch, SIGNALS } from '@tallybay/decode';
import { Lake, quoteIdentifier } from '@tallybay/lake';
import { z } from 'zod';

/**
 * What must be in the lake for one vehicle: how many rows, and sums that change with any value, any time and any signal it
 * is filed under. Values are summed as whole thousandths of their 32-bit form, so both sides are exact.
 */
export interface Fingerprint {
  rows: number;
  timeSum: number;
  /** Signal -> sum; signals without a value are absent. */
  sums: Map<string, number>;
}

/** Keeps sums of times exact. */
export const TIME_MODULUS = 1_000_003;
/** A value as both sides count it. */
export const thousandths = (value: number): number => Math.floor(Math.fround(value) * 1000);

export const emptyFingerprint = (): Fingerprint => ({ rows: 0, timeSum: 0, sums: new Map() });

export function addFingerprint(to: Fingerprint, more: Fingerprint): void {
  to.rows += more.rows;
  to.timeSum += more.timeSum;
  for (const [signal, sum] of more.sums) to.sums.set(signal, (to.sums.get(signal) ?? 0) + sum);
}

/** Decodes the log here, without service, stream, threads or lake. */
export function fingerprintOfLog(bytes: Uint8Array): Fingerprint {
  const planned = planAnyLog(bytes.subarray(0, 256 * 1024), {}, { complete: bytes.length <= 256 * 1024 });
  if (!planned.ok) throw new Error(`the log cannot be planned: ${planned.problem.detail}`);
  const fingerprint = emptyFingerprint();
  const reader = createReader(planned.plan, (batch) => addBatch(fingerprint, batch, planned.plan.signals));
  reader.push(bytes);
  reader.finish();
  return fingerprint;
}

function addBatch(fingerprint: Fingerprint, batch: SampleBatch, signals: readonly string[]): void {
  fingerprint.rows += batch.rowCount;
  for (let row = 0; row < batch.rowCount; row++) fingerprint.timeSum += Math.floor(batch.timeMs[row]!) % TIME_MODULUS;
  for (const [index, signal] of signals.entries()) {
    const values = batch.values[index]!;
    let sum = 0;
    let seen = false;
    for (let row = 0; row < batch.rowCount; row++) {
      const value = values[row]!;
      if (Number.isNaN(value)) continue;
      sum += thousandths(value);
      seen = true;
    }
    if (seen) fingerprint.sums.set(signal, (fingerprint.sums.get(signal) ?? 0) + sum);
  }
}

export interface LakeContent {
  fingerprints: Map<string, Fingerprint>;
  /** Rows of the same upload and row number beyond the first. */
  duplicated: number;
  /** Rows by upload. */
  uploads: Map<string, number>;
}

/** The same sums, asked of the lake by DuckDB. */
export async function readLake(directory: string): Promise<LakeContent> {
  const lake = await Lake.open(directory, { threads: 2, memoryLimit: '1GB' });
  try {
    const sum = (id: string) =>
      `sum(CAST(floor(CAST(${quoteIdentifier(id)} AS DOUBLE) * 1000) AS BIGINT))::BIGINT AS ${quoteIdentifier(id)}`;
    const rows = await lake.query(
      `SELECT vehicle_id, count(*) AS n, (sum(epoch_ms(time) % ${TIME_MODULUS}))::BIGINT AS time_sum,
              ${SIGNALS.map((signal) => sum(signal.id)).join(', ')} FROM samples GROUP BY vehicle_id`,
      z.looseObject({ vehicle_id: z.string(), n: z.number(), time_sum: z.number() }),
    );
    const uploads = await lake.query(
      'SELECT upload_id, count(*) AS n, count(DISTINCT row_no) AS distinct_rows FROM samples GROUP BY upload_id',
      z.object({ upload_id: z.string(), n: z.number(), distinct_rows: z.number() }),
    );
    return {
      fingerprints: new Map(rows.map((row) => [row.vehicle_id, fingerprintOfRow(row)])),
      duplicated: uploads.reduce((total, upload) => total + upload.n - upload.distinct_rows, 0),
      uploads: new Map(uploads.map((upload) => [upload.upload_id, upload.distinct_rows])),
    };
  } finally {
    lake.close();
  }
}

function fingerprintOfRow(row: { n: number; time_sum: number; [signal: string]: unknown }): Fingerprint {
  const sums = new Map<string, number>();
  for (const { id } of SIGNALS) if (typeof row[id] === 'number') sums.set(id, row[id]);
  return { rows: row.n, timeSum: row.time_sum, sums };
}

/** The fingerprint in short, for people to compare. */
export function checksum({ rows, timeSum, sums }: Fingerprint): string {
  const sorted = [...sums].sort(([a], [b]) => (a < b ? -1 : 1));
  return createHash('sha256')
    .update(JSON.stringify([rows, timeSum, sorted]))
    .digest('hex')
    .slice(0, 12);
}

/** Every difference between two fingerprints, in words. */
export function differences(expected: Fingerprint, found: Fingerprint): string[] {
  const said: string[] = [];
  if (expected.rows !== found.rows) said.push(`rows ${found.rows}, expected ${expected.rows}`);
  if (expected.timeSum !== found.timeSum) said.push(`time sum ${found.timeSum}, expected ${expected.timeSum}`);
  for (const signal of new Set([...expected.sums.keys(), ...found.sums.keys()])) {
    const [want, have] = [expected.sums.get(signal), found.sums.get(signal)];
    if (want !== have) said.push(`${signal} ${have ?? 'absent'}, expected ${want ?? 'absent'}`);
  }
  return said;
}
