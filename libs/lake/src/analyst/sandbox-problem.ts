import { TallybayError } from '@tallybay/contracts';

/** What DuckDB's messages begin with, and what they mean to the person who asked. */
const KINDS: readonly { begins: RegExp; code: 'query_invalid' | 'query_refused' | 'query_limit'; advice: string }[] = [
  {
    begins: /^(Out of Memory|.*bad_alloc|.*bad allocation|.*allocat)/i,
    code: 'query_limit',
    advice: 'Ask for fewer rows or columns, filter earlier (vehicle_id, time), or aggregate in steps.',
  },
  {
    begins: /^Permission Error/,
    code: 'query_refused',
    advice: 'Statements can read the views and nothing else.',
  },
  { begins: /^INTERRUPT/i, code: 'query_limit', advice: 'Ask for less at once.' },
];

/** Errors of the statement itself, in DuckDB's words: a name that is not there, a cast that fails. */
const OF_THE_STATEMENT =
  /^(Parser|Binder|Catalog|Conversion|Invalid Input|Out of Range|Invalid|Not implemented|Syntax|Constraint|Mismatch|Type|Division|TransactionContext|Invalid type|Unhandled|Parameter|Missing|Expression|Dependency|Fatal)[\w ]*/;

/** Any error of a sandbox as a problem with a code. File names are left out: they are none of the analyst's business. */
export function queryProblem(thrown: unknown): TallybayError {
  if (thrown instanceof TallybayError) return thrown;
  const message = (thrown instanceof Error ? thrown.message : String(thrown)).slice(0, 1_000);
  const kind = KINDS.find(({ begins }) => begins.test(message));
  const detail = message.split('\n\n')[0]!.trim();
  if (kind) return new TallybayError(kind.code, detail, { advice: kind.advice, cause: thrown });
  if (OF_THE_STATEMENT.test(message) || /^[A-Z][A-Za-z ]+ Error:/.test(message))
    return new TallybayError('query_invalid', detail, {
      advice: 'Correct the statement and send it again.',
      cause: thrown,
    });
  return new TallybayError('internal', detail, { cause: thrown });
}
