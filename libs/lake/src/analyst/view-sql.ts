import { quoteIdentifier, quoteText } from '../sql.js';
import { LAKE_TABLES } from '../tables.js';
import { withheldSql } from '../upkeep/withheld.js';
import { REFERENCE_TABLES } from './reference-tables.js';
import { columnComment } from './view-columns.js';
import { ANALYST_VIEWS, type AnalystView, type Source } from './views.js';

/** SQL of something that yields a source's files: a text, a list of texts, or an expression of either. */
export type FilesSql = (source: Source) => string;

/** SQL after the files of a source that leaves out those that do not count; empty where all count. */
export type CountedSql = (source: Source) => string;

/** `CREATE VIEW` of one view over the files that `filesSql` names, as far as they count. */
export function analystViewSql(view: AnalystView, filesSql: FilesSql, countedSql: CountedSql = () => ''): string {
  const columns = view.columns.map(({ name }) => quoteIdentifier(name)).join(', ');
  const read = (source: Source) =>
    `(SELECT ${columnsOf(source)} FROM read_parquet(${filesSql(source)}, union_by_name = true)${countedSql(source)})`;
  const sources = Object.entries(view.sources);
  const body = view.sql
    ? view.sql.replace(/\{(\w+)\}/g, (_match, name: string) => read(view.sources[name]!))
    : `SELECT * FROM ${read(sources[0]![1])}`;
  return `CREATE OR REPLACE VIEW ${quoteIdentifier(view.name)} AS SELECT ${columns} FROM (${body})`;
}

const columnsOf = (source: Source): string =>
  ('lake' in source ? LAKE_TABLES[source.lake] : REFERENCE_TABLES[source.reference])
    .map(({ name }) => quoteIdentifier(name))
    .join(', ');

const commentSql = (view: AnalystView): string[] => [
  `COMMENT ON VIEW ${quoteIdentifier(view.name)} IS ${quoteText(view.comment)};`,
  ...view.columns.map(
    (column) =>
      `COMMENT ON COLUMN ${quoteIdentifier(view.name)}.${quoteIdentifier(column.name)} IS ${quoteText(columnComment(column))};`,
  ),
];

/**
 * A script that opens the lake with the plain DuckDB command line: `duckdb -init lake.sql`, or `.read lake.sql`. The folder
 * is in one variable, so that a lake that moved (or is mounted elsewhere) needs one line changed.
 */
export function lakeSql(directory: string): string {
  const filesSql: FilesSql = (source) =>
    'lake' in source
      ? `getvariable('lake') || ${quoteText(`/${source.lake}/**/*.parquet`)}`
      : `getvariable('lake') || ${quoteText(`/reference/${source.reference}.parquet`)}`;
  const countedSql: CountedSql = (source) =>
    'lake' in source
      ? ` AS rows ANTI JOIN ${withheldSql(source.lake)} AS withheld ON withheld.file = rows.filename`
      : '';
  return [
    '-- Opens the lake: every view with a comment on every column. Written by Tallybay; changes are lost.',
    `SET VARIABLE lake = ${quoteText(directory)};`,
    "SET TimeZone = 'UTC';",
    '',
    '-- The views leave out files that are on their way in or out (see the folder `withheld`).',
    ...ANALYST_VIEWS.flatMap((view) => ['', `${analystViewSql(view, filesSql, countedSql)};`, ...commentSql(view)]),
    '',
    '-- What there is: DESCRIBE samples; or',
    '-- SELECT table_name, column_name, comment FROM duckdb_columns() WHERE NOT internal ORDER BY ALL;',
    '',
  ].join('\n');
}
