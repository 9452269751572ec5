import { readFileSync } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import {
  QUERY_FORMATS,
  type QueryRequest,
  type QueryStatus,
  queryAnswerSchema,
  TallybayError,
} from '@tallybay/contracts';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { bytesText, countText, plural } from '../output/numbers.js';
import { tableLines } from '../output/table.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { ask, halfWay, saveAnswer } from './answer-stream.js';

/** More rows than anybody reads in a terminal; a file takes what the service allows. */
const TABLE_ROWS = 1_000;

const FILE_FORMATS = Object.keys(QUERY_FORMATS) as (keyof typeof QUERY_FORMATS)[];

type Format = 'table' | keyof typeof QUERY_FORMATS;

interface QueryOptions {
  url: string;
  file?: string;
  format?: Format;
  out?: string;
  param?: Record<string, string | number | boolean | null>;
  maxRows?: number;
  explain?: true | 'analyze';
  person?: string;
}

export function registerQuery(program: Command, session: Session): void {
  const command = program
    .command('query')
    .summary('ask the whole history in SQL')
    .description(
      'Run one SELECT over the views of the lake and print the answer as a table, or write it as JSON, CSV, an Arrow stream or Parquet. `tallybay query "DESCRIBE samples"` shows the columns of a view; docs/sql.md lists all of them.',
    )
    .argument('[sql]', 'the statement; - reads it from standard input')
    .option('--file <path>', 'read the statement from a file')
    .addOption(
      new Option('--format <format>', 'of the answer; a table, or what the end of --out says').choices([
        'table',
        ...FILE_FORMATS,
      ]),
    )
    .option('--out <path>', 'write the answer to a file instead: .json, .csv, .arrow, .parquet')
    .option('--param <name=value>', 'a parameter such as week=2026-W41 for $week; may be repeated', collectParameter)
    .option('--max-rows <n>', 'at most so many rows', wholeNumber(1))
    .option('--explain [analyze]', 'the plan instead of the answer; `analyze` runs it and says where the time went')
    .addOption(new Option('--person <name>', 'who asks; limits go by it').env('TALLYBAY_PERSON'));
  addUrl(command).action((sql: string | undefined, options: QueryOptions) => query(sql, options, session));
}

async function query(argument: string | undefined, options: QueryOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const format = formatOf(options, session);
  const sql = await statement(argument, options, session);
  const request: QueryRequest = {
    sql,
    ...(options.param ? { parameters: options.param } : {}),
    ...(options.explain ? { explain: options.explain === 'analyze' ? 'analyze' : 'plan' } : {}),
    ...(format === 'table' ? { maxRows: options.maxRows ?? TABLE_ROWS } : { format }),
    ...(format !== 'table' && options.maxRows ? { maxRows: options.maxRows } : {}),
  };
  const answer = await ask(request, { url: options.url, person: options.person, signal: terminal.signal });
  if (format === 'table') {
    const parsed = queryAnswerSchema.parse(JSON.parse(await answer.text()));
    const lines = options.explain ? planLines(parsed.rows) : answerLines(parsed);
    for (const line of lines) terminal.out(line);
    if (parsed.truncated)
      terminal.note(
        `Only the first ${countText(parsed.rowCount ?? 0)} rows; --max-rows shows more, --out FILE.csv takes all of them.`,
      );
    return;
  }
  if (options.out) {
    noteOutcome(await saveAnswer(answer, options.out), session, options.out);
    return;
  }
  try {
    await pipeline(answer.body, process.stdout, { end: false });
  } catch (error) {
    throw await halfWay(answer, error);
  }
  noteOutcome(await answer.outcome(), session);
}

function noteOutcome({ rows, bytes, truncated }: QueryStatus, { terminal }: Session, file?: string): void {
  if (file) terminal.out(`${file}: ${plural(rows ?? 0, 'row')}, ${bytesText(bytes)}`);
  if (truncated) terminal.note(`Cut off at ${rows} rows, the limit; ask for less, or have the limit raised.`);
}

function answerLines({
  columns,
  rows,
  rowCount,
}: {
  columns: { name: string; type: string }[];
  rows: unknown[];
  rowCount: number;
}): string[] {
  const cells = (rows as unknown[][]).map((row) => row.map((value) => (value === null ? '-' : String(value))));
  const numeric = new Set(['int32', 'int64', 'float', 'double']);
  const heads = columns.map(({ name, type }) => ({
    title: name,
    align: numeric.has(type) ? ('right' as const) : ('left' as const),
  }));
  return [...tableLines(heads, cells), '', plural(rowCount, 'row')];
}

/** DuckDB draws plans itself, in the last cell of each row. */
const planLines = (rows: unknown[]): string[] => (rows as unknown[][]).flatMap((row) => String(row.at(-1)).split('\n'));

async function statement(argument: string | undefined, { file }: QueryOptions, { terminal }: Session): Promise<string> {
  if (file !== undefined && argument === undefined) return readStatement(file);
  if (argument === '-' && file === undefined) {
    const parts: Buffer[] = [];
    for await (const part of terminal.stdin) parts.push(Buffer.from(part));
    return Buffer.concat(parts).toString('utf8');
  }
  if (argument !== undefined && file === undefined) return argument;
  throw new TallybayError('parameter_invalid', 'The statement is given twice, or not at all', {
    advice: 'Give it as the argument, as - for standard input, or with --file.',
  });
}

function readStatement(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new TallybayError('file_unreadable', `${file}: ${(error as Error).message}`, {
      place: { file },
      cause: error,
    });
  }
}

/**
 * What was asked for, else what the end of the file's name says, else a table.
 * @throws TallybayError `parameter_invalid` where nobody could read what would come
 */
function formatOf({ format, out }: QueryOptions, { terminal }: Session): Format {
  if (out !== undefined) {
    const named = format ?? FILE_FORMATS.find((one) => out.toLowerCase().endsWith(`.${one}`));
    if (named !== undefined && named !== 'table') return named;
    throw new TallybayError('parameter_invalid', `--out ${out} does not say as what the answer is to be written`, {
      advice: `End the name with one of ${FILE_FORMATS.map((one) => `.${one}`).join(', ')}, or say it with --format; a table is for the screen.`,
      place: { field: '--format' },
    });
  }
  if (terminal.sharedScreen && (format === 'arrow' || format === 'parquet'))
    throw new TallybayError('parameter_invalid', `${format} is not for reading on a screen`, {
      advice: `Give --out answer.${format}, or send standard output into a file or a program.`,
      place: { field: '--format' },
    });
  return format ?? 'table';
}

/** `name=value`; numbers, true, false and null are what they look like, quotes make a text of anything. */
function collectParameter(text: string, before: QueryOptions['param'] = {}): QueryOptions['param'] {
  const at = text.indexOf('=');
  const name = text.slice(0, at);
  if (at < 1 || !/^[A-Za-z_]\w*$/.test(name)) throw new InvalidArgumentError(`"${text}" is not name=value.`);
  return { ...before, [name]: parameterValue(text.slice(at + 1)) };
}

function parameterValue(text: string): string | number | boolean | null {
  if (/^(true|false|null|-?(0|[1-9]\d*)(\.\d+)?(e[+-]?\d+)?)$/i.test(text)) return JSON.parse(text.toLowerCase());
  return /^".*"$/s.test(text) ? text.slice(1, -1) : text;
}
