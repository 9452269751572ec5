import { closeSync, fsyncSync, openSync, readFileSync, renameSync, rmSync, statSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { stagingDirectory, withheldDirectory } from '../layout.js';
import type { LakeTable } from '../tables.js';
import { folderVersion, isSettled, namesIn, syncFolder } from './folder-names.js';

/**
 * Files that no reader may count though they lie in the lake: on their way in, or out. Readers list the lake's files at one
 * moment and read them later, so a file stays where it was for the longest query after it has gone out of use, and a new
 * one is announced before it appears.
 *
 *   withheld/<id>.<state>.txt            a line a file, relative to the lake; a line that begins with # says what for
 *   withheld/<id>.<state>.<from>.txt     the same, from an instant on (epoch ms) that lies ahead when it is written
 *
 * A state is never written again: the next one is another file, and of an id only the newest state counts whose instant has
 * come. One rename therefore takes files out and lets others in at one moment, and whoever listed the folder has states that
 * do not change. Where rows differ before and after, the state has an instant: a statement looks at several tables one after
 * the other, and the instant at which it began decides for all of them alike.
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

interface StateName {
  id: string;
  state: number;
  fromMs: number;
  name: string;
}

const NAME = /^([^.]+)\.(\d{6})(?:\.(\d+))?\.txt$/;

const parsed = new WeakMap<readonly string[], readonly StateName[]>();

function stateNames(lake: string): readonly StateName[] {
  const names = namesIn(withheldDirectory(lake));
  const known = parsed.get(names);
  if (known) return known;
  const states = names.flatMap((name) => {
    const [, id, state, fromMs = '0'] = NAME.exec(name) ?? [];
    return id === undefined ? [] : [{ id, state: Number(state), fromMs: Number(fromMs), name }];
  });
  parsed.set(names, states);
  return states;
}

/** The newest state of every id whose instant has come. */
function newestOf(names: readonly StateName[], atMs: number): StateName[] {
  const newest = new Map<string, StateName>();
  for (const one of names)
    if (one.fromMs <= atMs && one.state >= (newest.get(one.id)?.state ?? 0)) newest.set(one.id, one);
  return [...newest.values()];
}

/** The newest state of every id, also one whose instant lies ahead. */
export const readWithheld = (lake: string): Withheld[] => statesOf(lake, stateNames(lake));

/** Of one id; null when there is none. */
export const withheldAs = (lake: string, id: string): Withheld | null =>
  statesOf(
    lake,
    stateNames(lake).filter((one) => one.id === id),
  )[0] ?? null;

const statesOf = (lake: string, names: readonly StateName[]): Withheld[] =>
  newestOf(names, Number.POSITIVE_INFINITY).flatMap(({ id, state, name }) => {
    const content = contentOf(join(withheldDirectory(lake), name));
    return content ? [{ id, state, ...content }] : [];
  });

let lastRead: { lake: string; stamp: string; files: ReadonlySet<string> } | null = null;

/** Every file that is withheld now, relative to the lake. */
export function withheldFiles(lake: string): ReadonlySet<string> {
  const calm = calmStamp(lake);
  if (calm !== null && lastRead?.lake === lake && lastRead.stamp === calm) return lastRead.files;
  const files = new Set<string>();
  for (const { name } of newestOf(stateNames(lake), Date.now()))
    for (const file of contentOf(join(withheldDirectory(lake), name))?.files ?? []) files.add(file);
  lastRead = calm === null ? null : { lake, stamp: calm, files };
  return files;
}

/** Stands for what is withheld: another one after every change of it, also by an instant that has come. */
export const withheldStamp = (lake: string): string =>
  calmStamp(lake) ??
  newestOf(stateNames(lake), Date.now())
    .map(({ name }) => name)
    .join('/');

/** The same without a look at the names; null while they may change within one time stamp, or an instant lies ahead. */
function calmStamp(lake: string): string | null {
  const changedAtMs = folderVersion(withheldDirectory(lake));
  if (!isSettled(changedAtMs)) return null;
  return stateNames(lake).every(({ fromMs }) => fromMs <= Date.now()) ? `${changedAtMs}` : null;
}

/** What is withheld at a moment. */
export interface WithheldNow {
  files: ReadonlySet<string>;
  stamp: string;
  /** Names of the states that were there, for `withheldSince`. */
  states: ReadonlySet<string>;
}

/**
 * Work with what is withheld that lists files of the lake: done again when that changed under it, so that the files fit to
 * what is left out of them.
 */
export function steadily<T>(lake: string, work: (withheld: WithheldNow) => T): T {
  for (;;) {
    const stamp = withheldStamp(lake);
    const states = new Set(stateNames(lake).map(({ name }) => name));
    const done = work({ files: withheldFiles(lake), stamp, states });
    if (withheldStamp(lake) === stamp) return done;
  }
}

/** Files of every state that was written after a moment, also of those that do not count any more. */
export function withheldSince(lake: string, { stamp, states }: WithheldNow): ReadonlySet<string> {
  const files = new Set<string>();
  if (withheldStamp(lake) === stamp) return files;
  for (const { name } of stateNames(lake)) {
    if (states.has(name)) continue;
    for (const file of contentOf(join(withheldDirectory(lake), name))?.files ?? []) files.add(file);
  }
  return files;
}

/**
 * Writes the next state of an id, durably and at one moment.
 * @param leadMs it counts from so long after that moment on @returns the instant, 0 without one
 */
export function withhold(
  lake: string,
  { id, kind, files, purpose }: Pick<Withheld, 'id' | 'kind' | 'files' | 'purpose'>,
  leadMs = 0,
): number {
  const state = Math.max(0, ...stateNames(lake).flatMap((one) => (one.id === id ? one.state : []))) + 1;
  const staging = join(stagingDirectory(lake), `_withheld-${id}-${state}-${process.pid}`);
  const descriptor = openSync(staging, 'w');
  try {
    writeSync(descriptor, [`#${kind} ${purpose}`, ...files, ''].join('\n'));
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
  const fromMs = leadMs === 0 ? 0 : Date.now() + leadMs;
  const name = [id, String(state).padStart(6, '0'), ...(fromMs === 0 ? [] : [fromMs]), 'txt'].join('.');
  renameSync(staging, join(withheldDirectory(lake), name));
  syncFolder(withheldDirectory(lake));
  return fromMs;
}

const LEAD_MS = 25;

/** The same at an instant, which has come when it resolves. */
export async function withholdAtInstant(
  lake: string,
  what: Pick<Withheld, 'id' | 'kind' | 'files' | 'purpose'>,
): Promise<void> {
  for (let leadMs = LEAD_MS; ; leadMs *= 2) {
    const leftMs = withhold(lake, what, leadMs) - Date.now();
    if (leftMs > 0) return pause(leftMs + 1);
    // It stood still on the way: the instant may have come before the state was there.
  }
}

/** Removes every state of an id: its files are gone, and no query can have listed the states any more. */
export function forgetWithheld(lake: string, id: string): void {
  const states = stateNames(lake).filter((one) => one.id === id);
  // The newest last: after a kill on the way it is still the one that counts.
  for (const { name } of states.sort((a, b) => a.state - b.state))
    rmSync(join(withheldDirectory(lake), name), { force: true });
}

/**
 * For `lake.sql`: what is withheld when a statement or its transaction began, `getvariable('lake')` being the folder. As the right
 * side of a join it is bound after the table's files, so that what was announced before it appeared is in it. The way by the
 * table's folder keeps DuckDB from sharing one listing, then older than some files, among the tables of a statement.
 */
export const withheldSql = (table: LakeTable): string => `(
  SELECT getvariable('lake') || '/' || line AS file FROM (
    SELECT unnest(string_split(arg_max(content, state), chr(10))) AS line FROM (
      SELECT content, parse_filename(filename) AS state
      FROM read_text(getvariable('lake') || '/${table}/../withheld/*.txt')
    ) WHERE coalesce(try_cast(split_part(state, '.', 3) AS BIGINT), 0) <= epoch_ms(now()) GROUP BY split_part(state, '.', 1)
  ) WHERE line <> '' AND line NOT LIKE '#%')`;

type Content = Pick<Withheld, 'atMs' | 'kind' | 'purpose' | 'files'>;
const contents = new Map<string, Content>();
const MOST_CONTENTS = 20_000;

/** Read once as long as it is the same file: an id that was forgotten begins anew. Null for one that is gone by now. */
function contentOf(path: string): Content | null {
  const atMs = statSync(path, { throwIfNoEntry: false })?.mtimeMs;
  if (atMs === undefined) return null;
  const known = contents.get(path);
  if (known?.atMs === atMs) return known;
  try {
    const [head = '', ...files] = readFileSync(path, 'utf8').split('\n');
    const [, kind, purpose = ''] = /^#(\w+) (.*)$/.exec(head) ?? [];
    const content: Content = {
      ...{ atMs, kind: kind === 'entering' ? kind : 'leaving', purpose },
      files: files.filter((line) => line !== ''),
    };
    if (contents.size >= MOST_CONTENTS) contents.clear();
    contents.set(path, content);
    return content;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}
