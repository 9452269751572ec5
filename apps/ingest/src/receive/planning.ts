import { TallybayError } from '@tallybay/contracts';
import { createReader, type LogPlan, type PlanHints, type PlanResult, planAnyLog } from '@tallybay/decode';

/** @throws TallybayError with the plan problem's code, detail, place and advice */
export function planOrThrow(head: Uint8Array, hints: PlanHints, complete: boolean): LogPlan {
  const result = planFromHead(head, hints, complete);
  if (result.ok) return result.plan;
  const { code, detail, advice, row, column } = result.problem;
  throw new TallybayError(code, detail, {
    advice,
    place: {
      ...(hints.fileName ? { file: hints.fileName } : {}),
      ...(row ? { row } : {}),
      ...(column ? { column } : {}),
    },
  });
}

/** Nearly every dialect shows itself in this much; the whole head is looked at only where that does not do. */
const SHORT_HEAD_BYTES = 64 * 1024;

function planFromHead(head: Uint8Array, hints: PlanHints, complete: boolean): PlanResult {
  if (head.length <= SHORT_HEAD_BYTES) return planAnyLog(head, hints, { complete });
  const short = planAnyLog(head.subarray(0, SHORT_HEAD_BYTES), hints, { complete: false });
  return short.ok ? short : planAnyLog(head, hints, { complete });
}

/** Instant of the first good row in the head, or null when the head holds none. */
export function firstInstantMs(plan: LogPlan, head: Uint8Array): number | null {
  return firstRowMs(plan, head.subarray(0, SHORT_HEAD_BYTES)) ?? firstRowMs(plan, head);
}

function firstRowMs(plan: LogPlan, bytes: Uint8Array): number | null {
  let first: number | null = null;
  const reader = createReader(plan, (batch) => {
    if (first === null && batch.rowCount > 0) first = batch.timeMs[0]!;
  });
  reader.push(bytes);
  reader.finish();
  return first;
}
