import type { InspectionReport } from '@tallybay/contracts';
import { TallybayError } from '@tallybay/contracts';
import {
  type CandumpReader,
  type CaptureReport,
  createAccumulator,
  createReader,
  type Inspection,
  inspectReport,
  type LogPlan,
  type LogReader,
  type PlanHints,
  planAnyLog,
} from '@tallybay/decode';
import type { LogSource } from './log-source.js';
import { asAsked, canonicalStages, type Stages } from './stages.js';

export interface InspectOptions {
  /** How the log is called in the report. */
  name: string;
  hints: PlanHints;
  stages: Stages;
  holdSeconds: number;
  nowMs: number;
}

/** The stable report; of a capture also what it says beside its samples: lamps, faults, answers, counts by sender. */
export type LogReport = Omit<InspectionReport, 'capture'> & { capture?: CaptureReport };

/**
 * Reads a whole log once, in bounded memory, and reports what it holds.
 * @throws TallybayError with the plan problem's code when the bytes are no log; what the source throws
 */
export async function inspectLog(source: LogSource, options: InspectOptions): Promise<LogReport> {
  const plan = planOrThrow(source, options);
  const stages = canonicalStages(options.stages);
  const accumulator = createAccumulator(plan, { holdSeconds: options.holdSeconds, stages });
  const reader = createReader(plan, (batch) => accumulator.add(batch), { nowMs: options.nowMs });
  for await (const bytes of source.bytes) reader.push(bytes);
  const counts = reader.finish();
  const report = inspectReport(options.name, { plan, summary: accumulator.finish(counts), counts, stages });
  const asked = withAskedStages(report, options.stages);
  return isCaptureReader(reader) ? { ...asked, capture: reader.report() } : asked;
}

const isCaptureReader = (reader: LogReader): reader is CandumpReader => 'report' in reader;

function planOrThrow(source: LogSource, { name, hints }: InspectOptions): LogPlan {
  const result = planAnyLog(source.head, hints, { complete: source.complete });
  if (result.ok) return result.plan;
  const { code, detail, advice, row, column } = result.problem;
  const place = { file: name, ...(row !== undefined && { row }), ...(column !== undefined && { column }) };
  throw new TallybayError(code, detail, { advice, place });
}

/** Stages come back under the names by which they were asked for. */
function withAskedStages(report: Inspection, stages: Stages): Inspection {
  const signals = Object.fromEntries(
    Object.entries(report.signals).map(([id, signal]) => {
      const asked = [...stages].find(([other]) => other === id)?.[1];
      if (!asked || !signal.secondsAtOrAbove) return [id, signal];
      return [id, { ...signal, secondsAtOrAbove: asAsked(asked, signal.secondsAtOrAbove) }];
    }),
  );
  return { ...report, signals };
}
