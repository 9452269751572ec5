import type { z } from 'zod';
import { PROBLEMS, type ProblemCode, type ProblemDocument, TallybayError } from './problem.js';

type InvalidCode = Extract<ProblemCode, 'body_invalid' | 'parameter_invalid' | 'snapshot_malformed' | 'config_invalid'>;

/** Longest piece of the sender's own input that a message repeats. */
const MAX_SHOWN_CHARS = 80;
/** Fields that one problem lists; a body that is wrong all over is no form. */
const MAX_FIELDS = 50;

/**
 * Parses a value from outside by its schema.
 * @throws TallybayError `code` with the first field that does not fit, its value, and what was expected
 */
export function parseContract<T>(schema: z.ZodType<T>, value: unknown, code: InvalidCode): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  throw invalidFromIssues(result.error.issues, value, code);
}

/**
 * Parses what a query string says; a name that nobody reads is refused, since a slip would otherwise answer another question.
 * @throws TallybayError `parameter_invalid`
 */
export function parseParameters<T>(schema: z.ZodType<T>, value: unknown): T {
  if ('shape' in schema) mustKnow(Object.keys(schema.shape as object), value);
  return parseContract(schema, value, 'parameter_invalid');
}

/** @throws TallybayError `parameter_invalid` naming the first parameter that is none of `known` */
export function mustKnow(known: readonly string[], parameters: unknown): void {
  const strange = Object.keys(parameters ?? {}).find((name) => !known.includes(name));
  if (strange === undefined) return;
  const there = known.length > 0 ? `there are: ${known.join(', ')}` : 'there are none';
  throw new TallybayError('parameter_invalid', `There is no parameter ${shown(strange)} here; ${there}`, {
    advice: 'Correct its name or leave it out; nothing was done.',
    place: { field: strange.slice(0, MAX_SHOWN_CHARS) },
  });
}

/** The validator's findings as one problem: the first in full, the number of the others, and all of them by field. */
export function invalidFromIssues(
  issues: readonly { path: readonly PropertyKey[]; message: string }[],
  value: unknown,
  code: InvalidCode,
): TallybayError {
  const [first, ...others] = issues;
  const path = first?.path ?? [];
  const field = path.map(String).join('.');
  const where = field === '' ? 'The whole' : field;
  const more = others.length > 0 ? ` (and ${others.length} more)` : '';
  const detail = `${where}: ${first?.message ?? 'does not fit'}, got ${shown(valueAt(value, path))}${more}`;
  return new TallybayError(code, detail, {
    advice: 'Correct the named field; the expected shapes are in the OpenAPI description',
    ...(field === '' ? {} : { place: { field, ...(others.length > 0 ? { fields: fieldsOf(issues) } : {}) } }),
  });
}

const fieldsOf = (issues: readonly { path: readonly PropertyKey[]; message: string }[]) =>
  issues.slice(0, MAX_FIELDS).map(({ path, message }) => ({ field: path.map(String).join('.'), text: message }));

function valueAt(value: unknown, path: readonly PropertyKey[]): unknown {
  let inner = value;
  for (const key of path) {
    if (inner === null || typeof inner !== 'object' || !Object.hasOwn(inner, key)) return undefined;
    inner = (inner as Record<PropertyKey, unknown>)[key];
  }
  return inner;
}

function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = JSON.stringify(value) ?? String(value);
  return text.length <= MAX_SHOWN_CHARS ? text : `${text.slice(0, MAX_SHOWN_CHARS)}…`;
}

/** What a web framework throws by itself, by HTTP status; it never reaches people in the framework's own words. */
const FRAMEWORK_PROBLEMS: Record<number, { code: ProblemCode; detail: string; advice: string }> = {
  400: {
    code: 'body_invalid',
    detail: 'The request body cannot be read as JSON',
    advice: 'Send one JSON document with content-type application/json',
  },
  404: {
    code: 'route_unknown',
    detail: 'There is nothing at this method and address',
    advice: 'The addresses are listed in /openapi.json',
  },
  413: {
    code: 'body_too_large',
    detail: 'The request body is larger than this address takes',
    advice: 'Send logs to /v1/logs, which takes any size',
  },
  415: {
    code: 'media_type_unsupported',
    detail: 'The request body is of a type that this address does not take',
    advice: 'Send application/json, or the type that the OpenAPI description names',
  },
};

/**
 * Total: whatever was thrown while answering a request, as the problem document to send and the error to log.
 * `unexpected` errors tell the caller nothing of their inside; log them with their cause.
 */
export function problemFromUnknown(
  thrown: unknown,
  instance?: string,
): { error: TallybayError; document: ProblemDocument; unexpected: boolean } {
  const error = thrown instanceof TallybayError ? thrown : fromFramework(thrown);
  return { error, document: error.toDocument(instance), unexpected: error.code === 'internal' };
}

function fromFramework(thrown: unknown): TallybayError {
  const status = frameworkStatus(thrown);
  const known = status === undefined ? undefined : FRAMEWORK_PROBLEMS[status];
  if (known) return new TallybayError(known.code, known.detail, { advice: known.advice, cause: thrown });
  if (status !== undefined && status >= 400 && status < 500)
    return new TallybayError('parameter_invalid', (thrown as Error).message, { cause: thrown });
  return new TallybayError('internal', `${PROBLEMS.internal.title}; the log has the details under this request's id`, {
    cause: thrown,
  });
}

/** Fastify puts `statusCode` on its errors, Nest a `getStatus()`. */
function frameworkStatus(thrown: unknown): number | undefined {
  if (!(thrown instanceof Error)) return undefined;
  const { statusCode, getStatus } = thrown as Error & { statusCode?: unknown; getStatus?: () => unknown };
  const status = typeof getStatus === 'function' ? getStatus.call(thrown) : statusCode;
  return typeof status === 'number' ? status : undefined;
}
