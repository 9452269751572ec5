import { readFileSync } from 'node:fs';
import {
  type AccumulatorOptions,
  createAccumulator,
  createLogReader,
  type LogPlan,
  type LogSummary,
  type PlanHints,
  planLog,
  type ReadCounts,
  type ReadLimits,
  type SampleBatch,
  type SignalId,
} from '@tallybay/decode';

export const fixture = (path: string) =>
  new Uint8Array(readFileSync(new URL(`../../../../fixtures/logs/${path}`, import.meta.url)));

export const bytesOf = (text: string) => new TextEncoder().encode(text);

/** Rows of a log as plain objects, so that two readings can be compared. */
export interface Rows {
  row: number[];
  timeMs: number[];
  values: number[][];
  markers: SampleBatch['markers'];
  unmapped: SampleBatch['unmapped'];
  rejects: [row: number, signal: number, reason: number][];
  counts: ReadCounts;
}

export function planOf(bytes: Uint8Array, hints: PlanHints = {}): LogPlan {
  const result = planLog(bytes.subarray(0, 65_536), hints, { complete: bytes.length <= 65_536 });
  if (!result.ok) throw new Error(`${result.problem.code}: ${result.problem.detail}`);
  return result.plan;
}

export function readRows(plan: LogPlan, parts: readonly Uint8Array[], limits: ReadLimits = {}): Rows {
  const rows: Omit<Rows, 'counts'> = {
    row: [],
    timeMs: [],
    values: plan.signals.map(() => []),
    markers: [],
    unmapped: [],
    rejects: [],
  };
  const reader = createLogReader(plan, (batch) => copyInto(rows, batch), limits);
  for (const part of parts) reader.push(part);
  return { ...rows, counts: reader.finish() };
}

function copyInto(rows: Omit<Rows, 'counts'>, batch: SampleBatch): void {
  for (let at = 0; at < batch.rejectCount; at++) {
    const row = batch.row[batch.rejectRow[at] as number] as number;
    rows.rejects.push([row, batch.rejectSignal[at] as number, batch.rejectReason[at] as number]);
  }
  rows.row.push(...batch.row.subarray(0, batch.rowCount));
  rows.timeMs.push(...batch.timeMs.subarray(0, batch.rowCount));
  for (const [signal, values] of batch.values.entries())
    rows.values[signal]?.push(...values.subarray(0, batch.rowCount));
  rows.markers.push(...batch.markers);
  rows.unmapped.push(...batch.unmapped);
}

export interface ReadLog {
  plan: LogPlan;
  summary: LogSummary;
  counts: ReadCounts;
}

/** Plans, reads and sums up a whole log. */
export function readLog(bytes: Uint8Array, hints: PlanHints = {}, options: AccumulatorOptions = {}): ReadLog {
  return sumUp(planOf(bytes, hints), [bytes], options);
}

export function sumUp(
  plan: LogPlan,
  parts: readonly Uint8Array[],
  options: AccumulatorOptions = {},
  flushEach = false,
): ReadLog {
  const accumulator = createAccumulator(plan, options);
  const reader = createLogReader(plan, (batch) => accumulator.add(batch));
  for (const part of parts) {
    reader.push(part);
    if (flushEach) reader.flush();
  }
  const counts = reader.finish();
  return { plan, counts, summary: accumulator.finish(counts) };
}

/** Column of a signal in the rows read. */
export function column(plan: LogPlan, rows: Rows, signal: SignalId): number[] {
  return rows.values[plan.signals.indexOf(signal)] ?? [];
}

export function cutAt(bytes: Uint8Array, cuts: readonly number[]): Uint8Array[] {
  const places = [0, ...cuts.map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b), bytes.length];
  return places.slice(1).map((end, index) => bytes.subarray(places[index], end));
}
