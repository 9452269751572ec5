import type { DuckDBPreparedStatement, DuckDBType, DuckDBValue } from '@duckdb/node-api';
import { type QueryParameters, TallybayError } from '@tallybay/contracts';

/**
 * Binds exactly what the statement names: whole numbers as BIGINT, others as DOUBLE, texts, flags, nulls.
 * @throws TallybayError `query_invalid` naming a parameter that is missing or not in the statement
 */
export async function bindParameters(
  statement: DuckDBPreparedStatement,
  wanted: readonly string[],
  given: QueryParameters | undefined,
): Promise<void> {
  const values = new Map(
    Array.isArray(given) ? given.map((value, index) => [String(index + 1), value]) : Object.entries(given ?? {}),
  );
  for (const name of wanted)
    if (!values.has(name)) throw unbound(`The parameter $${name} has no value`, `Send "parameters": {"${name}": …}.`);
  for (const name of values.keys())
    if (!wanted.includes(name)) throw unbound(`The statement has no parameter $${name}`, 'Leave it out, or use it.');
  if (wanted.length === 0) return;
  const { BIGINT, BOOLEAN, DOUBLE, SQLNULL, VARCHAR } = await import('@duckdb/node-api');
  const bound: Record<string, DuckDBValue> = Object.create(null);
  const types: Record<string, DuckDBType> = Object.create(null);
  for (const [name, value] of values) {
    const isWhole = typeof value === 'number' && Number.isSafeInteger(value);
    bound[name] = isWhole ? BigInt(value) : value;
    if (value === null) types[name] = SQLNULL;
    else if (typeof value === 'boolean') types[name] = BOOLEAN;
    else if (typeof value === 'string') types[name] = VARCHAR;
    else types[name] = isWhole ? BIGINT : DOUBLE;
  }
  statement.bind(bound, types);
}

const unbound = (detail: string, advice: string): TallybayError =>
  new TallybayError('query_invalid', detail, { advice, place: { field: 'parameters' } });
