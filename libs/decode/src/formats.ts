import { createCandumpReader } from './can/candump-reader.js';
import { isCapturePlan } from './can/capture-plan.js';
import { planCandump, sniffCandump } from './can/plan-candump.js';
import { planLog } from './log/plan.js';
import { createLogReader } from './log/reader.js';
import type { LogPlan, LogReader, PlanHints, PlanResult, ReadLimits, SampleBatch } from './log/types.js';

type BatchSink = (batch: SampleBatch) => void;

interface LogFormat {
  label: string;
  /** Whether the head of a log reads as this format. */
  sniff(head: Uint8Array): boolean;
  plan(head: Uint8Array, hints: PlanHints, options: { complete?: boolean }): PlanResult;
  reader(plan: LogPlan, sink: BatchSink, limits: ReadLimits): LogReader;
}

/** Every format a log may have. A new one is a new row: `LogPlan.format` names it, so a missing row does not compile. */
export const LOG_FORMATS: Record<LogPlan['format'], LogFormat> = {
  candump: {
    label: 'raw CAN capture (candump -l text)',
    sniff: sniffCandump,
    plan: (head, hints) => planCandump(head, hints),
    reader: (plan, sink) => {
      if (!isCapturePlan(plan)) throw new TypeError('a capture needs the plan that planCandump made');
      return createCandumpReader(plan, sink);
    },
  },
  // Last: whatever is text and nothing else may be a table.
  csv: { label: 'delimited text table', sniff: () => true, plan: planLog, reader: createLogReader },
};

/** Finds a log's format by its head and plans its reading. See `planLog` and `planCandump` for the problems. */
export function planAnyLog(head: Uint8Array, hints: PlanHints = {}, options: { complete?: boolean } = {}): PlanResult {
  const format = Object.values(LOG_FORMATS).find((row) => row.sniff(head))!;
  return format.plan(head, hints, options);
}

/** The reader that a plan needs. */
export function createReader(plan: LogPlan, sink: BatchSink, limits: ReadLimits = {}): LogReader {
  return LOG_FORMATS[plan.format].reader(plan, sink, limits);
}
