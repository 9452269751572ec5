/**
 * Statements and inputs that try to get out, look around, change something, or take the machine with them. `refused`: an answer
 * with one of these codes, at once. `contained`: it may end in any way within its limits, and nobody else notices.
 * Ways marked (1) were found to work against DuckDB 1.5's own settings alone (allowed_directories, enable_external_access,
 * lock_configuration); the others come from its documentation of functions and statements, or from trying.
 */
export interface Hostile {
  what: string;
  sql: string;
  expect: 'refused' | 'contained';
}

const refused = (what: string, sql: string): Hostile => ({ what, sql, expect: 'refused' });
const contained = (what: string, sql: string): Hostile => ({ what, sql, expect: 'contained' });
const times = (text: string, count: number) => text.repeat(count);

/** @param lake the lake's folder, @param outside a file that is there and none of their business */
export const hostileStatements = (lake: string, outside: string): Hostile[] => [
  // Files
  refused('reads a file by a replacement scan', `SELECT * FROM '${outside}'`),
  refused('reads a file of the lake past the views', `SELECT * FROM '${lake}/rankings/x.json'`),
  refused('reads a Parquet file of the lake by name', `SELECT * FROM "${lake}/drives/_schema.parquet"`),
  refused('read_text', `SELECT * FROM read_text('${outside}')`),
  refused('read_blob', `SELECT * FROM read_blob('/etc/passwd')`),
  refused('read_csv', `SELECT * FROM read_csv('/etc/passwd', header = false)`),
  refused('read_json', `SELECT * FROM read_json('/proc/self/environ')`),
  refused('read_parquet', `SELECT * FROM read_parquet('${lake}/**/*.parquet')`),
  refused('parquet_scan in a subquery', `SELECT (SELECT count(*) FROM parquet_scan('${lake}/drives/*.parquet'))`),
  refused('parquet_metadata', `SELECT * FROM parquet_metadata('${lake}/drives/_schema.parquet')`),
  refused('glob lists folders', `SELECT * FROM glob('/home/*')`),
  refused('sniff_csv', `SELECT * FROM sniff_csv('/etc/passwd')`),
  refused(
    'a file behind a CTE that shadows it elsewhere',
    `SELECT * FROM '${outside}', (WITH "${outside}" AS (SELECT 1) SELECT * FROM "${outside}")`,
  ),
  refused(
    'a catalogue view behind a CTE of its name',
    'SELECT * FROM duckdb_settings, (WITH duckdb_settings AS (SELECT 1) SELECT * FROM duckdb_settings)',
  ),
  refused(
    'a CTE whose body is the catalogue view of its name',
    'WITH duckdb_views AS (SELECT * FROM duckdb_views) SELECT * FROM duckdb_views',
  ),
  refused('COPY FROM', `COPY drives FROM '/etc/passwd'`),
  refused(
    'lateral join on a file function',
    `SELECT * FROM vehicles v, LATERAL (SELECT * FROM read_text('/etc/' || v.name)) t`,
  ),
  refused('an IN over a file', `SELECT 1 WHERE 'root' IN (FROM read_text('/etc/passwd'))`),
  refused('DESCRIBE of a file', `DESCRIBE SELECT * FROM '${outside}'`),
  refused('SUMMARIZE of a file', `SUMMARIZE SELECT * FROM read_text('${outside}')`),
  refused('PIVOT over a file', `PIVOT (SELECT * FROM read_text('${outside}')) ON filename IN ('a') USING count(*)`),
  refused('read_duckdb', `SELECT * FROM read_duckdb('${lake}/x.duckdb')`),
  // Writing
  refused('(1) COPY TO over a lake file', `COPY (SELECT 1) TO '${lake}/drives/_schema.parquet' (FORMAT parquet)`),
  refused('(1) ATTACH makes a database in the lake', `ATTACH '${lake}/new.duckdb' AS n`),
  refused('(1) EXPORT DATABASE', `EXPORT DATABASE '${lake}/export'`),
  refused('CREATE TABLE', 'CREATE TABLE t AS SELECT 1'),
  refused('CREATE TEMP TABLE', 'CREATE TEMP TABLE t AS SELECT 1'),
  refused('CREATE VIEW over ours', 'CREATE OR REPLACE VIEW drives AS SELECT 1'),
  refused('CREATE MACRO', 'CREATE MACRO f(x) AS x'),
  refused('DROP VIEW', 'DROP VIEW drives'),
  refused('INSERT', 'INSERT INTO drives SELECT * FROM drives'),
  refused('UPDATE', 'UPDATE vehicles SET name = NULL'),
  refused('DELETE', 'DELETE FROM vehicles'),
  refused('TRUNCATE', 'TRUNCATE vehicles'),
  refused('a WITH that inserts', 'WITH a AS (SELECT 1) INSERT INTO vehicles SELECT * FROM a'),
  refused('(1) checkpoint()', 'SELECT * FROM checkpoint()'),
  refused('(1) force_checkpoint()', 'SELECT * FROM force_checkpoint()'),
  refused('CHECKPOINT', 'CHECKPOINT'),
  refused('VACUUM', 'VACUUM'),
  // Settings, logging, profiling
  refused('SET', 'SET enable_external_access = true'),
  refused('SET memory_limit', "SET memory_limit = '100GB'"),
  refused('RESET', 'RESET allowed_directories'),
  refused('SET VARIABLE', 'SET VARIABLE a = 1'),
  refused('PRAGMA', 'PRAGMA threads = 64'),
  refused('(1) PRAGMA that calls itself a SELECT', 'PRAGMA version'),
  refused('(1) PRAGMA database_size', 'PRAGMA database_size'),
  refused('(1) CALL enable_logging', `CALL enable_logging(storage = 'file', storage_path = '/tmp/forbidden')`),
  refused(
    '(1) FROM enable_logging kills the process at its end',
    `FROM enable_logging(storage = 'file', storage_path = '/forbidden')`,
  ),
  refused('(1) enable_profiling()', 'FROM enable_profiling()'),
  refused('(1) truncate_duckdb_logs()', 'FROM truncate_duckdb_logs()'),
  refused('(1) write_log()', "SELECT write_log('x')"),
  refused('(1) sleep_ms()', 'SELECT sleep_ms(100000)'),
  refused('pg_sleep()', 'SELECT pg_sleep(1000)'),
  refused('setseed() changes what others draw', 'SELECT setseed(0.5)'),
  refused('another parser', 'FROM enable_peg_parser()'),
  // SQL that is hidden in a text
  refused('(1) query()', `SELECT * FROM query('SELECT * FROM read_text(''/etc/passwd'')')`),
  refused('(1) query_table()', `SELECT * FROM query_table('${outside}')`),
  refused(
    '(1) json_execute_serialized_sql()',
    `SELECT * FROM json_execute_serialized_sql(json_serialize_sql('SELECT 1'))`,
  ),
  refused('json_serialize_plan() binds', `SELECT json_serialize_plan('SELECT * FROM read_text(''/etc/passwd'')')`),
  refused('PREPARE', 'PREPARE p AS SELECT 1'),
  refused('EXECUTE', 'EXECUTE p'),
  refused('two statements', 'SELECT 1; SELECT 2'),
  refused('a second one behind a comment', 'SELECT 1 /* ; */ ; DROP VIEW drives --'),
  refused('EXPLAIN ANALYZE of a COPY', `EXPLAIN ANALYZE COPY (SELECT 1) TO '${lake}/x.csv'`),
  refused(
    'a name that tries to close its quotes',
    `SELECT * FROM "drives"" UNION SELECT * FROM read_text('/etc/passwd')"`,
  ),
  refused('an upper-case name', `SELECT * FROM READ_TEXT('/etc/passwd')`),
  refused('a quoted name', `SELECT * FROM "read_text"('/etc/passwd')`),
  refused('through the system schema', `SELECT * FROM system.main.read_text('/etc/passwd')`),
  refused('as a method', `SELECT ('/etc/passwd').current_setting()`),
  refused('as a window function', 'SELECT nextval(1) OVER ()'),
  refused('in a FILTER', "SELECT count(*) FILTER (WHERE current_setting('threads') = '1') FROM vehicles"),
  refused('in ORDER BY', "SELECT 1 ORDER BY getvariable('lake')"),
  refused('in LIMIT', "SELECT 1 LIMIT (SELECT current_setting('threads')::INT)"),
  refused('in a lambda', "SELECT list_transform([1], lambda x: current_setting('threads'))"),
  refused('in a VALUES list', "VALUES (current_setting('threads'))"),
  refused('in a parameter of TABLESAMPLE’s query', `SELECT * FROM (SELECT * FROM duckdb_secrets()) TABLESAMPLE 10%`),
  refused(
    'in a recursive part',
    `WITH RECURSIVE r AS (SELECT 1 AS x UNION ALL SELECT x FROM r, read_text('/etc/passwd')) SELECT * FROM r`,
  ),
  refused('in QUALIFY', "SELECT 1 AS a QUALIFY current_setting('threads') = row_number() OVER ()"),
  // Looking around
  refused('duckdb_settings()', 'SELECT * FROM duckdb_settings()'),
  refused('duckdb_views', 'SELECT sql FROM duckdb_views'),
  refused('information_schema', 'SELECT * FROM information_schema.tables'),
  refused('pg_catalog', 'SELECT * FROM pg_catalog.pg_settings'),
  refused('sqlite_master', 'SELECT sql FROM sqlite_master'),
  refused('SHOW ALL TABLES', 'SHOW ALL TABLES'),
  refused('current_setting()', "SELECT current_setting('allowed_directories')"),
  refused('getenv()', "SELECT getenv('HOME')"),
  refused('which_secret()', "SELECT * FROM which_secret('s3://x', 's3')"),
  refused('current_query()', 'SELECT current_query()'),
  refused('duckdb_external_file_cache()', 'SELECT * FROM duckdb_external_file_cache()'),
  refused('stats of another query’s data', 'SELECT stats(vehicle_id) FROM vehicles'),
  // The network, extensions, memory addresses
  refused('http', `SELECT * FROM 'http://127.0.0.1:1/x.parquet'`),
  refused('s3', `SELECT * FROM read_parquet('s3://bucket/x.parquet')`),
  refused('INSTALL', 'INSTALL httpfs'),
  refused('LOAD', `LOAD '${outside}'`),
  refused('CREATE SECRET', `CREATE SECRET (TYPE s3, KEY_ID 'a', SECRET 'b')`),
  refused('arrow_scan of an address', 'SELECT * FROM arrow_scan(1::POINTER, 2::POINTER, 3::POINTER)'),
  refused('seq_scan', "SELECT * FROM seq_scan('drives')"),
  refused('AT a version', 'SELECT * FROM drives AT (VERSION => 1)'),
  refused('another database', 'SELECT * FROM temp.main.drives'),
  refused('USE', 'USE system'),
  refused('TRANSACTION', 'BEGIN TRANSACTION'),
  refused('SHUTDOWN of nothing', 'FORCE CHECKPOINT'),
  // Texts that hurt a parser
  refused('a zero character', 'SELECT 1\0; DROP VIEW drives'),
  refused('20,001 characters', `SELECT '${times('x', 20_000)}'`),
  refused('nested lists', `SELECT ${times('[', 3_000)}${times(']', 3_000)}`),
  refused('nested subqueries', `SELECT ${times('(SELECT ', 1_200)}1${times(')', 1_200)}`),
  refused('a tower of sums', `SELECT ${times('1+', 9_000)}1`),
  refused('a tower of NOT', `SELECT ${times('NOT ', 4_000)}true`),
  refused('only a comment', '-- nothing'),
  refused('nothing that can be read', 'SELEKT * FORM drives'),
  // Memory
  contained('repeat of 3 GB', "SELECT repeat('x', 3000000000)"),
  contained('a list of 2 billion', 'SELECT len(range(0, 2000000000))'),
  contained('unnest of 100 million', 'SELECT count(*) FROM (SELECT unnest(generate_series(1, 100000000)))'),
  contained('a list grown', "SELECT list_aggregate(list_resize([1], 2000000000), 'sum')"),
  contained('printf', "SELECT printf('%1000000000d', 1)"),
  contained('format', "SELECT format('{:>1000000000}', 'a')"),
  contained(
    'a sort that would spill',
    'SELECT max(i) FROM (SELECT i FROM range(300000000) t(i) ORDER BY hash(i) LIMIT 299999999)',
  ),
  contained('a group of everything', 'SELECT count(*) FROM (SELECT i, count(*) FROM range(200000000) t(i) GROUP BY i)'),
  contained('JSON nested in a text', `SELECT json_valid('${times('[', 9_000)}')`),
  contained('a cast of nested lists', `SELECT '${times('[', 9_000)}${times(']', 9_000)}'::INT[][]`),
  contained(
    'rows of 200 columns',
    `SELECT ${Array.from({ length: 200 }, (_, i) => `repeat('x', 5000) AS c${i}`)} FROM range(20000)`,
  ),
  // Time
  contained('lpad for minutes', "SELECT length(lpad('x', 100000000, 'yz'))"),
  contained('levenshtein for minutes', "SELECT levenshtein(repeat('a', 200000), repeat('b', 200000))"),
  contained(
    'a recursion without end',
    'WITH RECURSIVE t(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM t) SELECT count(*) FROM t',
  ),
  contained(
    'a product of millions',
    'SELECT count(*) FROM range(1000000) a, range(1000000) b WHERE a.range + b.range = 7',
  ),
  contained(
    'a lambda for minutes',
    'SELECT list_sum(list_transform(range(20000000), lambda x: sqrt(x) * length(x::VARCHAR)))',
  ),
  contained('a regular expression that grows', `SELECT regexp_matches('${times('a', 5_000)}', '(a*)*b')`),
];

/** Bodies and headers of POST /v1/query that are no questions. */
export const hostileInputs: { what: string; body: unknown; headers?: Record<string, string>; status: number }[] = [
  { what: 'no body', body: undefined, status: 422 },
  { what: 'a list', body: [], status: 422 },
  { what: 'no statement', body: {}, status: 422 },
  { what: 'a statement that is a number', body: { sql: 1 }, status: 422 },
  { what: 'a field that does not exist', body: { sql: 'SELECT 1', memoryMb: 99_999 }, status: 422 },
  { what: 'more rows than can be', body: { sql: 'SELECT 1', maxRows: 1e12 }, status: 422 },
  { what: 'no rows', body: { sql: 'SELECT 1', maxRows: 0 }, status: 422 },
  { what: 'an id that climbs', body: { sql: 'SELECT 1', id: '../../../../etc' }, status: 422 },
  {
    what: 'a parameter called __proto__',
    body: { sql: 'SELECT 1', parameters: JSON.parse('{"__proto__": 1}') },
    status: 422,
  },
  { what: 'a parameter that is not in the statement', body: { sql: 'SELECT 1', parameters: { a: 1 } }, status: 422 },
  { what: 'a parameter without a value', body: { sql: 'SELECT $a' }, status: 422 },
  { what: 'a parameter that is a structure', body: { sql: 'SELECT $a', parameters: { a: { b: 1 } } }, status: 422 },
  { what: '65 parameters', body: { sql: 'SELECT 1', parameters: Array(65).fill(1) }, status: 422 },
  {
    what: 'a parameter as the name of a table',
    body: { sql: 'SELECT * FROM $a', parameters: { a: '/etc/passwd' } },
    status: 422,
  },
  { what: 'an unknown format', body: { sql: 'SELECT 1', format: 'xlsx' }, status: 422 },
  { what: 'Accept that cannot be met', body: { sql: 'SELECT 1' }, headers: { accept: 'image/png' }, status: 406 },
  {
    what: 'a person with a line break',
    body: { sql: 'SELECT 1' },
    headers: { 'x-tallybay-person': 'a%0d%0aSet-Cookie: b' },
    status: 400,
  },
  {
    what: 'a person longer than a name',
    body: { sql: 'SELECT 1' },
    headers: { 'x-tallybay-person': 'a'.repeat(500) },
    status: 400,
  },
];
