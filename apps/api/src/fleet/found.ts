import { type ProblemCode, TallybayError } from '@tallybay/contracts';

/** The record, or a 404 that names it. @throws TallybayError */
export function found<T>(record: T | null | false, what: string, code: ProblemCode = 'record_unknown'): T {
  if (record !== null && record !== false) return record;
  throw new TallybayError(code, `There is no ${what}`, { advice: 'GET /v1/fleet lists what is registered' });
}
