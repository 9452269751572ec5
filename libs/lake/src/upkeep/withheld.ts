import {
  closeSync,
  fsyncSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { join } from 'node:path';
import {
  schemaFile,
  stagingDirectory,
  tableDirectory,
  tableGlob,
  vehicleDirectoryName,
  withheldDirectory,
} from '../layout.js';
import { quoteIdentifier, quoteText } from '../sql.js';
import type { LakeTable } from '../tables.js';

/**
 * Files that no reader may count though they lie in the lake: on their way in, or out. Readers list the lake's files at one
 * moment and read them later, so a file stays where it was for the longest query after it has gone out of use, and a new
 * one is announced before it appears.
 *
 *   withheld/<id>.<state>.txt     a line a file, relative to the lake; a line that begins with # says what for
 *
 * A state is never written again: the next one is another file, and of an id only the newest state counts. One rename
 * therefore takes files out and lets others in at one moment, and whoever listed the folder has states that do not change.
 */
export interface Withheld {
  /** Without dots. */
  id: string;
  state: number;
  /** When the state was written, by the file system. */
  atMs: number;
  /** `entering`: announced, not to be counted yet. `leaving`: to be removed when no query can be reading them. */
  kind: 'entering' | 'leaving';
  /** Relative to the lake. */
  files: readonly string[];
  /** What for; whoever wrote it can read it. */
  purpose: string;
}

const NAME = /^([^.]+)\.(\d{6})\.txt$/;
const stateFile = (lake: string, id: string, state: number): string =>
  join(withheldDirectory(lake), `${id}.${String(state).padStart(6, '0')}.txt`);

/** The newest state of every id. */
export function readWithheld(lake: string): Withheld[] {
  const newest = new Map<string, number>();
  for (const name of namesIn(withheldDirectory(lake))) {
    const [, id, state] = NAME.exec(name) ?? [];
    if (id !== undefined) newest.set(id, Math.max(newest.get(id) ?? 0, Number(state)));
  }
  return [...newest].flatMap(([id, state]) => readState(lake, id, state) ?? []);
}

/** Every file that is withheld now, relative to the lake. */
export const withheldFiles = (lake: string): Set<string> => new Set(readWithheld(lake).flatMap(({ files }) => files));

/** Changes with every change of what is withheld; for readers that keep a view for more than one query. */
export const withheldVersion = (lake: string): number =>
  statSync(withheldDirectory(lake), { throwIfNoEntry: false })?.mtimeMs ?? 0;

/** Writes the next state of an id, durably and at one moment. @returns its number */
export function withhold(
  lake: string,
  { id, kind, files, purpose }: Pick<Withheld, 'id' | 'kind' | 'files' | 'purpose'>,
): number {
  const states = namesIn(withheldDirectory(lake)).flatMap((name) => {
    const match = NAME.exec(name);
    return match?.[1] === id ? [Number(match[2])] : [];
  });
  const state = Math.max(0, ...states) + 1;
  const staging = join(stagingDirectory(lake), `_withheld-${id}-${state}-${process.pid}`);
  const descriptor = openSync(staging, 'w');
  try {
    writeSync(descriptor, [`#${kind} ${purpose}`, ...files, ''].join('\n'));
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
  renameSync(staging, stateFile(lake, id, state));
  syncFolder(withheldDirectory(lake));
  return state;
}

/** Removes every state of an id: its files are gone, and no query can have listed the states any more. */
export function forgetWithheld(lake: string, id: string): void {
  const names = namesIn(withheldDirectory(lake)).filter((name) => NAME.exec(name)?.[1] === id);
  // The newest last: after a kill on the way it is still the one that counts.
  for (const name of names.sort()) rmSync(join(withheldDirectory(lake), name), { force: true });
}

/**
 * What read_parquet takes: a table's files, or some vehicles' of it. A pattern in the usual case, that none of them is
 * withheld; else those that count, one by one: a pattern would find the others too, and open them when they may be gone.
 */
export function filesSql(lake: string, table: LakeTable, vehicles?: readonly string[]): string {
  const folders = vehicles?.map(vehicleDirectoryName);
  const withheld = [...withheldFiles(lake)].filter((file) => isOf(file, table, folders));
  const schema = schemaFile(lake, table);
  if (withheld.length === 0) {
    if (!folders) return quoteText(tableGlob(lake, table));
    // A pattern without any file is an error in DuckDB; a vehicle without a folder has the schema file's no rows.
    const filled = folders.filter((folder) => parquetIn(join(tableDirectory(lake, table), folder)).length > 0);
    return listSql([schema, ...filled.map((folder) => join(tableDirectory(lake, table), folder, '*.parquet'))]);
  }
  const without = new Set(withheld);
  const counted = (folders ?? namesIn(tableDirectory(lake, table)).filter((name) => !name.endsWith('.parquet')))
    .flatMap((folder) =>
      parquetIn(join(tableDirectory(lake, table), folder)).map((name) => `${table}/${folder}/${name}`),
    )
    .filter((file) => !without.has(file));
  return listSql([schema, ...counted.map((file) => join(lake, file))]);
}

const isOf = (file: string, table: LakeTable, folders: readonly string[] | undefined): boolean => {
  const [first, folder] = file.split('/');
  return first === table && (!folders || folders.includes(folder ?? ''));
};

const parquetIn = (folder: string): string[] => namesIn(folder).filter((name) => name.endsWith('.parquet'));

const listSql = (paths: readonly string[]): string => `[${paths.map(quoteText).join(', ')}]`;

/** Name of the view in `lake.sql` that knows what is withheld when a query starts. */
export const WITHHELD_VIEW = 'withheld_files';

/** The view; `getvariable('lake')` is the folder. */
export const withheldViewSql = (): string => `CREATE OR REPLACE VIEW ${quoteIdentifier(WITHHELD_VIEW)} AS
SELECT getvariable('lake') || '/' || line AS file FROM (
  SELECT unnest(string_split(arg_max(content, state), chr(10))) AS line FROM (
    SELECT content, parse_filename(filename) AS state FROM read_text(getvariable('lake') || '/withheld/*.txt')
  ) GROUP BY split_part(state, '.', 1)
) WHERE line <> '' AND line NOT LIKE '#%'`;

function readState(lake: string, id: string, state: number): Withheld | null {
  const path = stateFile(lake, id, state);
  try {
    const [head = '', ...files] = readFileSync(path, 'utf8').split('\n');
    const [, kind, purpose = ''] = /^#(\w+) (.*)$/.exec(head) ?? [];
    const { mtimeMs } = statSync(path);
    return {
      ...{ id, state, atMs: mtimeMs, kind: kind === 'entering' ? kind : 'leaving', purpose },
      files: files.filter((line) => line !== ''),
    };
  } catch (error) {
    // Forgotten meanwhile: nothing of it is left.
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}

export function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw error;
  }
}

export function syncFolder(folder: string): void {
  const descriptor = openSync(folder, 'r');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}
