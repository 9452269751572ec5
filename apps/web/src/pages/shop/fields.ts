// A form as data: what a field is, how its value is read from a document, what is wrong with it, how it is written back.
// While it is edited everything is text as typed, so that a half-typed number stays on screen.
import { t } from '../../text/text.js';

export type DraftRow = Readonly<Record<string, DraftValue>>;
export type DraftValue = string | readonly string[] | readonly DraftRow[];
export type ChoiceName = 'depots' | 'classes' | 'vehicles' | 'sources';

interface Common {
  key: string;
  label: string;
  hint?: string;
  /** May stay empty; then it is left out of the document, or null where it says so. */
  optional?: 'left_out' | 'null';
  /** What a new row starts with. */
  start?: string | readonly string[];
}

export interface ListWords {
  add: string;
  /** One row, such as `Bay`. */
  one: string;
  /** What a folded row shows; without it rows stand open, one line each. */
  folded?: (row: DraftRow) => { title: string; more: string };
}

export type FieldSpec = Common &
  (
    | { kind: 'text'; max: number; wide?: boolean }
    /** Not shown: an address that others hold; made from another field once. */
    | { kind: 'id'; from: string }
    | { kind: 'words' }
    | { kind: 'number'; least: number; most: number; whole?: boolean; note?: (value: number) => string }
    | { kind: 'date' }
    | { kind: 'time' }
    | { kind: 'choice'; of: ChoiceName; none?: string }
    | { kind: 'checks'; options: readonly { value: string; text: string }[]; numeric?: boolean }
    | { kind: 'group'; of: readonly FieldSpec[] }
    | { kind: 'rows'; of: readonly FieldSpec[]; words: ListWords }
  );

type Document = Record<string, unknown>;

export interface FieldProblem {
  /** Path inside the document, as the service names it: `bays.0.name`. */
  field: string;
  text: string;
}

export const rowsOf = (row: DraftRow, key: string): readonly DraftRow[] => (row[key] ?? []) as readonly DraftRow[];
export const textOf = (row: DraftRow, key: string): string => (row[key] ?? '') as string;
export const listOf = (row: DraftRow, key: string): readonly string[] => (row[key] ?? []) as readonly string[];

export const draftOf = (specs: readonly FieldSpec[], document: Document): DraftRow =>
  Object.fromEntries(specs.map((spec) => [spec.key, readValue(spec, document[spec.key])]));

function readValue(spec: FieldSpec, value: unknown): DraftValue {
  const list = (value ?? []) as readonly unknown[];
  switch (spec.kind) {
    case 'words':
      return list.join(', ');
    case 'checks':
      return list.map(String);
    case 'rows':
      return list.map((row) => draftOf(spec.of, row as Document));
    case 'group':
      return [draftOf(spec.of, (value ?? {}) as Document)];
    default:
      return value === undefined || value === null ? '' : String(value);
  }
}

/** A new row; what it does not start with is empty. */
export const emptyRow = (specs: readonly FieldSpec[]): DraftRow =>
  Object.fromEntries(specs.map((spec) => [spec.key, spec.start ?? readValue(spec, undefined)]));

/** The document that a draft stands for. Fields that do not fit come out as typed: `problemsOf` names them. */
export function documentOf(specs: readonly FieldSpec[], row: DraftRow): Document {
  const pairs = specs.flatMap((spec): [string, unknown][] => {
    if (spec.optional && isEmpty(spec, row)) return spec.optional === 'null' ? [[spec.key, null]] : [];
    return [[spec.key, writeValue(spec, row)]];
  });
  return Object.fromEntries(pairs);
}

function writeValue(spec: FieldSpec, row: DraftRow): unknown {
  switch (spec.kind) {
    case 'rows':
      return withIds(spec.of, rowsOf(row, spec.key)).map((inner) => documentOf(spec.of, inner));
    case 'group':
      return documentOf(spec.of, rowsOf(row, spec.key)[0] ?? {});
    case 'checks':
      return spec.numeric
        ? listOf(row, spec.key)
            .map(Number)
            .toSorted((a, b) => a - b)
        : listOf(row, spec.key);
    case 'words':
      return wordsOf(textOf(row, spec.key));
    case 'number':
      return numberOf(textOf(row, spec.key));
    default:
      return textOf(row, spec.key).trim();
  }
}

export const wordsOf = (text: string): string[] =>
  text
    .split(',')
    .map((word) => word.trim())
    .filter((word) => word !== '');

export const numberOf = (text: string): number => (text.trim() === '' ? Number.NaN : Number(text.replace(',', '.')));

function isEmpty(spec: FieldSpec, row: DraftRow): boolean {
  if (spec.kind !== 'group') return row[spec.key] === undefined || String(row[spec.key]).trim() === '';
  const inner = rowsOf(row, spec.key)[0] ?? {};
  return spec.of.every((field) => isEmpty(field, inner));
}

/** Rows with an id each: a new one gets it from its name, and none that another row has. */
function withIds(specs: readonly FieldSpec[], rows: readonly DraftRow[]): readonly DraftRow[] {
  const id = specs.find((spec) => spec.kind === 'id');
  if (id?.kind !== 'id') return rows;
  const taken = new Set(rows.map((row) => textOf(row, id.key)));
  return rows.map((row) => {
    if (textOf(row, id.key) !== '') return row;
    const name = slug(textOf(row, id.from));
    let free = name;
    for (let number = 2; taken.has(free); number += 1) free = `${name}-${number}`;
    taken.add(free);
    return { ...row, [id.key]: free };
  });
}

const slug = (name: string): string =>
  name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 50) || 'row';

/** What would not be taken, by path; relations between rows are the service's to judge. */
export function problemsOf(specs: readonly FieldSpec[], row: DraftRow, path = ''): FieldProblem[] {
  return specs.flatMap((spec) => {
    const field = `${path}${spec.key}`;
    if (spec.kind === 'rows')
      return rowsOf(row, spec.key).flatMap((inner, index) => problemsOf(spec.of, inner, `${field}.${index}.`));
    if (spec.optional && isEmpty(spec, row)) return [];
    if (spec.kind === 'group') return problemsOf(spec.of, rowsOf(row, spec.key)[0] ?? {}, `${field}.`);
    const text = problemOfField(spec, row);
    return text === null ? [] : [{ field, text }];
  });
}

const TIME = /^([01]\d|2[0-3]):[0-5]\d$/;
const DATE = /^\d{4}-\d{2}-\d{2}$/;

function problemOfField(spec: FieldSpec, row: DraftRow): string | null {
  const words = t.shop.problems;
  if (spec.kind === 'checks' || spec.kind === 'words' || spec.kind === 'id') return null;
  const text = textOf(row, spec.key).trim();
  if (text === '') return words.missing;
  if (spec.kind === 'number') return problemOfNumber(spec, numberOf(text));
  if (spec.kind === 'time') return TIME.test(text) ? null : words.time;
  if (spec.kind === 'date') return DATE.test(text) ? null : words.date;
  return spec.kind === 'text' && text.length > spec.max ? words.tooLong(spec.max) : null;
}

function problemOfNumber(spec: { least: number; most: number; whole?: boolean }, value: number): string | null {
  const words = t.shop.problems;
  if (!Number.isFinite(value)) return words.number;
  if (spec.whole && !Number.isInteger(value)) return words.whole;
  return value < spec.least || value > spec.most ? words.range(spec.least, spec.most) : null;
}

/** The message for a control: of its own path, or of a part of what it holds (`features.2`). */
export const messageAt = (problems: readonly FieldProblem[], path: string): string | null =>
  problems.find(({ field }) => field === path || field.startsWith(`${path}.`))?.text ?? null;

export interface Rebased {
  document: Document;
  /** Keys that both changed; mine stand. */
  both: string[];
}

/** My changes of `base` put onto what somebody else has made of it, key by key. */
export function rebased(base: Document, mine: Document, theirs: Document): Rebased {
  const differs = (a: unknown, b: unknown) => JSON.stringify(a) !== JSON.stringify(b);
  const keys = [...new Set([...Object.keys(theirs), ...Object.keys(mine)])];
  const changed = keys.filter((key) => differs(mine[key], base[key]));
  const pairs = keys.map((key) => [key, changed.includes(key) ? mine[key] : theirs[key]] as const);
  return {
    document: Object.fromEntries(pairs.filter(([, value]) => value !== undefined)),
    both: changed.filter((key) => differs(theirs[key], base[key]) && differs(theirs[key], mine[key])),
  };
}
