import { TallybayError } from '@tallybay/contracts';
import { createReader, type LogPlan, type PlanHints, planAnyLog } from '@tallybay/decode';

/** @throws TallybayError with the plan problem's code, detail, place and advice */
export function planOrThrow(head: Uint8Array, hints: PlanHints, complete: boolean): LogPlan {
  const result = planAnyLog(head, hints, { complete });
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

/** Instant of the first good row in the head, or null when the head holds none. */
export function firstInstantMs(plan: LogPlan, head: Uint8Array): number | null {
  let first: number | null = null;
  const reader = createReader(plan, (batch) => {
    if (first === null && batch.rowCount > 0) first = batch.timeMs[0]!;
  });
  reader.push(head);
  reader.finish();
  return first;
}
