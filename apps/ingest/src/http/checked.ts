import { type ProblemCode, TallybayError } from '@tallybay/contracts';
import type { z } from 'zod';

/** @throws TallybayError of the given code, naming the first field that does not fit */
export function checked<T>(schema: z.ZodType<T>, value: unknown, code: ProblemCode, name = ''): T {
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0]!;
  const field = [name, ...issue.path.map(String)].filter(Boolean).join('.');
  throw new TallybayError(code, `${field || 'The value'}: ${issue.message}`, { place: field ? { field } : {} });
}
