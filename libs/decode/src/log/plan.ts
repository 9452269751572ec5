import { type TextRow } from '../csv/cells.js';
import { detectEncoding, type EncodingFound } from '../csv/encoding.js';
import { CSV_LIMITS } from '../csv/limits.js';
import { findDecimal } from '../csv/number-marks.js';
import { findVin, type PreambleFacts, preambleFacts, readPreamble } from '../csv/preamble.js';
import { columnCount, findTable, type TableFound } from '../csv/table.js';
import { mapChannels, unitHabit, unmapped } from '../signals/map-channels.js';
import { matchHeader } from '../signals/match.js';
import { splitWords } from '../signals/name-key.js';
import { type HeadColumn, headColumns } from './column-samples.js';
import { planTime } from './plan-time.js';
import type {
  ChannelPlan,
  CsvDialect,
  LogPlan,
  PlanHints,
  PlanProblem,
  PlanProblemCode,
  PlanResult,
  TimePlan,
} from './types.js';

const MARKER =
  /^(markers?|events?|marks?|bookmarks?|notes?|comments?|annotations?|driver (event|marker|note)|event marker|ereignis(se)?|markierung(en)?|marke|kommentare?|notiz(en)?|bemerkung(en)?|marcador(es)?|eventos?|notas?|comentarios?)$/;
const VIN_HEADER =
  /^(vin|fin|vehicle identification number|fahrgestellnummer|fahrzeug identifizierungsnummer|chassis( number)?|bastidor)$/;
const RECORDER_HEADER =
  /^(recorder|logger|device|recorder serial|device serial|serial( number)?|seriennummer|recorder id|device id|logger id|numero de serie)$/;
const CANDUMP = /^\(\d+\.\d+\)\s+\S+\s+[0-9A-Fa-f]{3,8}#/;

/**
 * Plans the reading of a log from its first bytes; 64 KiB are plenty. With `complete` the head is the whole log, so that
 * a missing row can be told from one that is still to come. Pure; nothing is guessed that would change what a value or
 * an instant means, and each decision is listed with its reason.
 */
export function planLog(head: Uint8Array, hints: PlanHints = {}, options: { complete?: boolean } = {}): PlanResult {
  const bytes = head.subarray(0, CSV_LIMITS.maxHeadBytes);
  const complete = (options.complete ?? false) && bytes.length === head.length;
  if (bytes.length === 0)
    return problem(
      'body_empty',
      'The log has 0 bytes.',
      'Check the recorder card or the transfer and send the file again.',
    );
  const encoding = detectEncoding(bytes);
  if (!encoding.ok)
    return problem('body_not_text', encoding.detail, 'Export the log as CSV text, or unpack it, and send that.');
  const text = decodeHead(bytes, encoding.found).replaceAll('\0', '');
  if (text.trim() === '')
    return problem(
      'body_empty',
      `The log has ${bytes.length} bytes of white space only.`,
      'Check the recorder and send the file again.',
    );
  const tooLong = checkSizes(text, hints.profile?.delimiter);
  if (tooLong) return tooLong;
  if (CANDUMP.test(text)) {
    return problem(
      'log_unreadable',
      'The lines are raw CAN frames, not a table.',
      'Send the capture as CAN, or export a table of values.',
    );
  }
  const isKnown = (name: string) => matchHeader(name).row !== null;
  const table = findTable(text, hints.profile?.delimiter, !complete, isKnown);
  if (!table) {
    return problem(
      'log_unreadable',
      'No header line with at least two names was found in the head of the log.',
      'The first table line must name the columns, set apart by commas, semicolons, tabs or bars; if it does, save a profile that states the delimiter.',
    );
  }
  return planTable({ table, encoding: encoding.found, text, hints, complete });
}

interface TableInput {
  table: TableFound;
  encoding: EncodingFound;
  text: string;
  hints: PlanHints;
  complete: boolean;
}

function planTable({ table, encoding, text, hints, complete }: TableInput): PlanResult {
  const width = columnCount(table.header);
  if (width > CSV_LIMITS.maxColumns) return tooManyColumns(width, table.header.line);
  if (table.rows.length === 0) {
    const where = `The header stands in line ${table.header.line}`;
    if (complete)
      return problem(
        'log_no_rows',
        `${where}, and no row follows.`,
        'Check whether the recorder was stopped at once; there is nothing to read.',
        table.header.line,
      );
    const endless = longestTailCell(text);
    if (endless > CSV_LIMITS.maxCellBytes)
      return cellTooLong(`A cell under the header in line ${table.header.line}`, endless, 1);
    return problem(
      'log_unreadable',
      `${where}, and no whole row follows within the first ${text.length} characters.`,
      'Give a longer head, or the whole log.',
      table.header.line,
    );
  }
  const { dialect, decisions } = planDialect(table, encoding, text, hints);
  const preamble = readPreamble(table.preamble, table.delimiter);
  const facts = preambleFacts(preamble);
  const headers = table.header.cells.slice(0, width).map((cell) => cell.trim());
  const columns = headColumns(headers, table, dialect.decimal);
  const unitCells = columns.map((column) => column.unitRowCell);
  const habit = unitHabit(columns.map((column) => matchHeader(column.header, column.unitRowCell).unit?.id ?? null));
  const timed = planTime({ headers, unitCells, rows: table.samples, dialect, habit, facts, hints });
  if (timed.time === null) {
    const named = headers
      .slice(0, 8)
      .map((header) => `"${header}"`)
      .join(', ');
    return problem(
      'log_no_time',
      `None of the ${width} columns reads as time (${named}${width > 8 ? ', …' : ''}).${timed.refused ? ` ${timed.refused}` : ''}`,
      timed.refused
        ? 'Send the rows in the order in which they were recorded, each recording as a log of its own.'
        : 'Record a time column, or give the recorder one that counts seconds.',
      table.header.line,
    );
  }
  const mapping = planChannels(columns, hints, timeColumnsOf(timed.time));
  const identity = findIdentity(headers, table.samples, facts);
  const signals = mapping.channels.flatMap((channel) =>
    channel.role === 'signal' && channel.signal ? [channel.signal] : [],
  );
  return {
    ok: true,
    plan: {
      ...{
        version: 1,
        format: 'csv',
        dialect,
        channels: mapping.channels,
        time: timed.time,
        signals,
        preamble,
        ...identity,
      },
      decisions: [...decisions, ...timed.decisions, ...mapping.decisions],
    },
  };
}

function planDialect(table: TableFound, encoding: EncodingFound, text: string, hints: PlanHints) {
  const found = findDecimal(table.samples, table.delimiter);
  const decimal = hints.profile?.decimal ?? found.decimal;
  const named = { ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'bar' }[table.delimiter];
  const dialect: CsvDialect = {
    ...{ encoding: encoding.encoding, bomBytes: encoding.bomBytes, delimiter: table.delimiter, decimal },
    headerLine: table.header.line,
    unitLine: table.units?.line ?? null,
    headerText: table.header.text,
    ...(table.units ? { unitText: table.units.text } : {}),
    ...(table.headings.length > 0 ? { headingTexts: table.headings.map((row) => row.text) } : {}),
    ...(!text.includes('\n') && text.includes('\r') ? { lineBreak: 'cr' as const } : {}),
  };
  const decisions: LogPlan['decisions'] = [
    { what: 'encoding', value: encoding.encoding, why: encoding.why },
    { what: 'delimiter', value: named, why: hints.profile?.delimiter ? 'saved profile' : table.why },
    {
      what: 'decimal mark',
      value: decimal === ',' ? 'comma' : 'point',
      why: hints.profile?.decimal ? 'saved profile' : found.why,
    },
    {
      what: 'header',
      value: `line ${table.header.line}`,
      why: table.preamble.length > 0 ? 'the lines before it are no table' : 'the first line',
    },
    ...(table.units
      ? [{ what: 'units', value: `line ${table.units.line}`, why: 'a row of unit names under the header' }]
      : []),
  ];
  return { dialect, decisions };
}

function planChannels(columns: readonly HeadColumn[], hints: PlanHints, timeColumns: readonly number[]) {
  const special = columns.map(({ header }, index) => specialChannel(header, timeColumns.includes(index)));
  // Columns with a role of their own must not win a signal from a real one.
  const mapping = mapChannels(
    columns.map((column, index) => (special[index] ? { ...column, header: '' } : column)),
    hints,
  );
  const grouped = columns.map(({ pointGroups }, index) => (mapping.channels[index]?.signal ? pointGroups : null));
  const decisions = grouped.flatMap((why, index) =>
    why === null ? [] : [{ what: `numbers of "${columns[index]?.header}"`, value: 'points group thousands', why }],
  );
  return {
    channels: mapping.channels.map((channel, index) => {
      const known = special[index] ?? channel;
      return grouped[index] ? { ...known, groupedByPoint: true as const } : known;
    }),
    decisions: [...mapping.decisions, ...decisions],
  };
}

function timeColumnsOf({ columns, fraction }: TimePlan): number[] {
  return fraction ? [...columns, fraction.column] : columns;
}

function specialChannel(header: string, isTime: boolean): ChannelPlan | null {
  const bare = unmapped(header, null, '');
  if (isTime) return { ...bare, role: 'time', confidence: 1, why: 'tells the time of the row' };
  const name = splitWords(header).join(' ');
  if (MARKER.test(name)) return { ...bare, role: 'marker', confidence: 0.9, why: 'named like a marker column' };
  if (VIN_HEADER.test(name)) return { ...bare, why: 'vehicle identification' };
  return RECORDER_HEADER.test(name) ? { ...bare, why: 'names the recorder' } : null;
}

function findIdentity(headers: readonly string[], rows: readonly TextRow[], facts: PreambleFacts) {
  const column = (test: RegExp) => {
    const index = headers.findIndex((header) => test.test(splitWords(header).join(' ')));
    if (index < 0) return null;
    return rows.map((row) => (row.cells[index] ?? '').trim()).find((cell) => cell !== '') ?? null;
  };
  const vinCell = column(VIN_HEADER);
  return { vin: facts.vin ?? (vinCell ? findVin(vinCell) : null), recorder: facts.recorder ?? column(RECORDER_HEADER) };
}

function decodeHead(bytes: Uint8Array, { encoding, bomBytes }: EncodingFound): string {
  // `stream` drops a character that the end of the head cuts.
  return new TextDecoder(encoding, { ignoreBOM: true }).decode(bytes.subarray(bomBytes), { stream: true });
}

/** Column and cell limits on the first line, which may be longer than the head. */
function checkSizes(text: string, wanted: CsvDialect['delimiter'] | undefined): PlanResult | null {
  const [line = ''] = /^[^\r\n]*/.exec(text.slice(text.search(/[^\r\n]/))) ?? [];
  const isWhole = line.length < text.trimStart().length;
  const counts = (wanted ? [wanted] : ([',', ';', '\t', '|'] as const)).map(
    (delimiter) => line.split(delimiter).length,
  );
  const columns = Math.max(...counts);
  if (columns > CSV_LIMITS.maxColumns) return tooManyColumns(columns, 1);
  const longest = Math.max(...line.split(/[,;\t|]/).map((cell) => cell.length));
  // A head of 64 KiB can only just not hold a cell over the limit: one that fills most of it and goes on is one.
  const isEndless = !isWhole && line.length > CSV_LIMITS.maxCellBytes / 2 && longest > line.length * 0.9;
  if (longest <= CSV_LIMITS.maxCellBytes && !isEndless) return null;
  return cellTooLong('A cell of the first line', longest, 1);
}

/** The longest cell behind the last line break of the head: a row that has not ended yet. */
function longestTailCell(text: string): number {
  const tail = text.slice(Math.max(text.lastIndexOf('\n'), text.lastIndexOf('\r')) + 1);
  return Math.max(...tail.split(/[,;\t|]/).map((cell) => cell.length));
}

function cellTooLong(which: string, characters: number, row: number): PlanResult {
  return problem(
    'log_cell_too_long',
    `${which} has at least ${characters} characters; the limit is ${CSV_LIMITS.maxCellBytes} bytes.`,
    'Check the delimiter and the quotes of the file; a cell holds one value.',
    row,
  );
}

function tooManyColumns(count: number, line: number): PlanResult {
  return problem(
    'log_too_many_columns',
    `The table has at least ${count} columns; the limit is ${CSV_LIMITS.maxColumns}.`,
    'Split the log by columns, or correct the delimiter in a profile.',
    line,
  );
}

function problem(code: PlanProblemCode, detail: string, advice: string, row?: number): PlanResult {
  const place: Pick<PlanProblem, 'row'> = row === undefined ? {} : { row };
  return { ok: false, problem: { code, detail, advice, ...place } };
}
