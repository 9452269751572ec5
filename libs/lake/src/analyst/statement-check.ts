import { TallybayError } from '@tallybay/contracts';
import { ALLOWED_FUNCTIONS, ALLOWED_TABLE_FUNCTIONS } from './allowed-functions.js';

/** Longer statements are for machines; they cost the parser memory before anything could be judged. */
export const MAX_SQL_CHARACTERS = 20_000;
/** Deeper nesting than any person writes; also keeps this walk within its stack. */
const MAX_DEPTH = 400;

/** Kinds of FROM that are understood. `SHOW_REF` is DESCRIBE and SUMMARIZE; see `showRef`. */
const TABLE_REFS = new Set([
  ...[
    'BASE_TABLE',
    'TABLE_FUNCTION',
    'JOIN',
    'SUBQUERY',
    'EMPTY',
    'EMPTY_FROM',
    'EXPRESSION_LIST',
    'PIVOT',
    'SHOW_REF',
  ],
  ...['COLUMN_DATA'],
]);
const QUERY_NODES = new Set(['SELECT_NODE', 'SET_OPERATION_NODE', 'RECURSIVE_CTE_NODE', 'CTE_NODE']);
const EXPRESSIONS = new Set([
  ...[
    'BETWEEN',
    'CASE',
    'CAST',
    'COLLATE',
    'COLUMN_REF',
    'COMPARISON',
    'CONJUNCTION',
    'CONSTANT',
    'DEFAULT',
    'FUNCTION',
  ],
  ...['LAMBDA', 'LAMBDA_REF', 'OPERATOR', 'PARAMETER', 'POSITIONAL_REFERENCE', 'STAR', 'SUBQUERY', 'WINDOW', 'TYPE'],
]);
/** A CTE may not shadow what the catalogue or a file could answer to where the CTE is out of scope. */
const CTE_NAME = /^[A-Za-z_][A-Za-z0-9_]{0,60}$/;
const CATALOGUE_NAME =
  /^(duckdb_|pg_|sqlite_|pragma_|information_schema$|tables$|columns$|views$|schemata$|character_sets$|.*_constraints$|.*_usage$)/i;

/** CTEs are walked by `scopeOf`; the type of a cast names no table and calls no function. */
const NOT_WALKED = new Set(['cte_map', 'cast_type']);

export interface CheckedStatement {
  /** Views that it reads. */
  views: string[];
  /** Names of its parameters, as written: `week` for `$week`, `1` for the first `?`. */
  parameters: string[];
}

type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
type Node = { [key: string]: Json };

/** What DuckDB's `json_serialize_sql` makes of a text. */
export interface SerializedSql {
  error: boolean;
  error_type?: string;
  error_message?: string;
  statements?: { node: Json; named_param_map?: { key: string }[] }[];
}

/**
 * Judges a parsed statement before anything of it is bound or run: one SELECT, reading only the views and its own CTEs, calling
 * only functions of the lists. Anything that is not known is refused.
 * @throws TallybayError `query_refused` naming what may not be
 */
export function checkStatement(parsed: SerializedSql, views: ReadonlySet<string>): CheckedStatement {
  if (parsed.error) throw unparsed(parsed);
  const [statement, ...more] = parsed.statements ?? [];
  if (!statement) throw refused('There is no statement', 'Write one SELECT.');
  if (more.length > 0) throw refused(`There are ${more.length + 1} statements`, 'Send one SELECT at a time.');
  const walk = new Walk(views);
  walk.visit(statement.node, new Set(), 0);
  return { views: [...walk.used], parameters: (statement.named_param_map ?? []).map(({ key }) => key) };
}

/** @throws TallybayError `query_refused` for a text that is too long or holds what no statement needs */
export function checkSqlText(sql: string): void {
  if (sql.length > MAX_SQL_CHARACTERS)
    throw refused(
      `The statement has ${sql.length} characters, at most ${MAX_SQL_CHARACTERS} are read`,
      'Make it shorter.',
    );
  if (sql.includes('\0')) throw refused('The statement has a zero character in it', 'Take it out.');
}

class Walk {
  readonly used = new Set<string>();

  constructor(private readonly views: ReadonlySet<string>) {}

  visit(json: Json | undefined, scope: ReadonlySet<string>, depth: number): void {
    if (depth > MAX_DEPTH) throw refused(`The statement is nested deeper than ${MAX_DEPTH} levels`, 'Make it flatter.');
    if (Array.isArray(json)) for (const item of json) this.visit(item, scope, depth + 1);
    else if (typeof json === 'object' && json !== null) this.node(json, scope, depth);
  }

  private node(node: Node, outer: ReadonlySet<string>, depth: number): void {
    // A literal is data, even where a struct in it has keys that look like ours.
    if (node.class === 'CONSTANT') return;
    const scope = this.scopeOf(node, outer, depth);
    if (typeof node.class === 'string') this.expression(node);
    else if (typeof node.type === 'string' && 'alias' in node) this.tableRef(node, scope);
    else if (typeof node.type === 'string' && 'cte_map' in node && !QUERY_NODES.has(node.type))
      throw refused(`A statement of the kind ${node.type} is not known here`, 'Write a plain SELECT.');
    for (const [key, value] of Object.entries(node)) if (!NOT_WALKED.has(key)) this.visit(value, scope, depth + 1);
  }

  /** CTEs of a query are known in it and below, and each in the ones after it; a recursive one in itself. */
  private scopeOf(node: Node, outer: ReadonlySet<string>, depth: number): ReadonlySet<string> {
    const map = (node.cte_map as { map?: { key: string; value: Json }[] } | undefined)?.map ?? [];
    const own = typeof node.cte_name === 'string' ? [node.cte_name] : [];
    if (map.length === 0 && own.length === 0) return outer;
    const scope = new Set(outer);
    for (const name of own) scope.add(cteName(name));
    for (const { key, value } of map) {
      const name = cteName(key);
      this.visit(value, scope, depth + 1);
      scope.add(name);
    }
    return scope;
  }

  private expression(node: Node): void {
    const kind = node.class as string;
    if (!EXPRESSIONS.has(kind))
      throw refused(`An expression of the kind ${kind} is not known here`, 'Write it another way.');
    if (kind !== 'FUNCTION' && kind !== 'WINDOW') return;
    const name = String(node.function_name).toLowerCase();
    if (!isHome(node.schema, node.catalog))
      throw refused(`${name} is called through a schema`, 'Call it by its plain name.');
    if (!ALLOWED_FUNCTIONS.has(name) && !ALLOWED_TABLE_FUNCTIONS.has(name))
      throw refused(`The function ${name} may not be used`, 'docs/sql.md lists the functions that may.');
  }

  private tableRef(node: Node, scope: ReadonlySet<string>): void {
    const kind = node.type as string;
    if (!TABLE_REFS.has(kind)) throw refused(`FROM cannot take ${kind} here`, 'Select from the views.');
    if (kind === 'BASE_TABLE') this.baseTable(node, scope);
    if (kind === 'TABLE_FUNCTION') tableFunction(node);
    if (kind === 'SHOW_REF') showRef(node);
    if (kind === 'PIVOT') pivot(node);
  }

  private baseTable(node: Node, scope: ReadonlySet<string>): void {
    const name = String(node.table_name).toLowerCase();
    if (!isHome(node.schema_name, node.catalog_name) || node.at_clause)
      throw refused(
        `There is no table ${[node.catalog_name, node.schema_name, node.table_name].filter(Boolean).join('.')}`,
        VIEW_ADVICE,
      );
    if (scope.has(name)) return;
    if (!this.views.has(name)) throw refused(`There is no view ${String(node.table_name)}`, VIEW_ADVICE);
    this.used.add(name);
  }
}

const VIEW_ADVICE = 'GET /v1/query/views lists what can be asked; files and the catalogue cannot.';

/** Unqualified, or the schema that the parser itself writes for `[1, 2]` and the like. */
const isHome = (schema: Json | undefined, catalogue: Json | undefined): boolean =>
  (!schema || schema === 'main') && !catalogue;

function cteName(name: string): string {
  if (!CTE_NAME.test(name) || CATALOGUE_NAME.test(name))
    throw refused(
      `"${name}" may not name a part of the query`,
      'Use letters, digits and underscores, and no name of the catalogue.',
    );
  return name.toLowerCase();
}

function tableFunction(node: Node): void {
  const call = node.function as Node | null;
  const name = String(call?.function_name).toLowerCase();
  if (call?.class !== 'FUNCTION' || !isHome(call.schema, call.catalog) || !ALLOWED_TABLE_FUNCTIONS.has(name))
    throw refused(
      `FROM ${name}(…) may not be used`,
      'Select from the views; generate_series, range and unnest make rows.',
    );
}

/** DESCRIBE and SUMMARIZE of a query that is itself walked; SHOW would list the catalogue. */
function showRef(node: Node): void {
  if (!node.query || node.table_name || (node.show_type !== 'DESCRIBE' && node.show_type !== 'SUMMARY'))
    throw refused(
      'SHOW may not be used',
      'GET /v1/query/views lists the views; DESCRIBE and SUMMARIZE of a view are fine.',
    );
}

/** A pivot over an enum type would look that type up in the catalogue. */
function pivot(node: Node): void {
  for (const column of (node.pivots as Node[] | null) ?? [])
    if (column.pivot_enum)
      throw refused('PIVOT over a type may not be used', 'List the values: PIVOT … ON column IN (…).');
}

function unparsed({ error_type, error_message }: SerializedSql): TallybayError {
  const message = error_message ?? 'it cannot be read';
  if (error_type === 'not implemented')
    return refused(
      'Only SELECT can be run',
      'Write one SELECT (WITH, VALUES, DESCRIBE and SUMMARIZE are fine). PIVOT needs its values: PIVOT … ON column IN (…).',
    );
  return new TallybayError('query_invalid', message.split('\n')[0]!.slice(0, 500), {
    advice: 'Correct the statement and send it again.',
  });
}

export const refused = (detail: string, advice: string): TallybayError =>
  new TallybayError('query_refused', detail, { advice });
