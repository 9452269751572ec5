import { mkdir, open, readdir, readFile, rename } from 'node:fs/promises';
import { join } from 'node:path';
import { type Ranking, rankingSchema, TallybayError } from '@tallybay/contracts';
import { assertIsoWeek, describeChanges, sameContent, shiftWeek } from '@tallybay/risk';
import { rankingsDirectory, stagingDirectory } from './layout.js';

const FILE_PATTERN = /^(\d{4}-W\d{2})-r(\d+)\.json$/;

export interface PublishedRanking {
  week: string;
  revision: number;
}

export interface Publication {
  ranking: Ranking;
  /** False when the newest revision already said the same: nothing was written. */
  published: boolean;
}

/**
 * Keeps a week's ranking for good as `rankings/<week>-r<revision>.json`. Content equal to the newest revision is not
 * published again; different content becomes the next revision with `changes` in words. Written beside, synced and
 * renamed, so a reader never sees a part of it. One writer at a time (the job's lease sees to that).
 * @throws TallybayError `week_invalid`, `lake_unwritable`
 */
export async function publishRanking(lake: string, ranking: Ranking): Promise<Publication> {
  const newest = await readRanking(lake, ranking.week);
  if (newest && sameContent(newest, ranking)) return { ranking: newest, published: false };
  const next: Ranking = {
    ...ranking,
    revision: (newest?.revision ?? 0) + 1,
    changes: newest ? describeChanges(newest, ranking) : [],
  };
  const name = `${next.week}-r${next.revision}.json`;
  try {
    await writeDurably(lake, name, `${JSON.stringify(next, null, 1)}\n`);
  } catch (error) {
    throw new TallybayError('lake_unwritable', `The ranking ${name} cannot be written: ${(error as Error).message}`, {
      advice: 'Check that the lake folder can be written and that the disk has room, then run the ranking again.',
      cause: error,
    });
  }
  return { ranking: next, published: true };
}

/**
 * @param revision default: the newest
 * @returns null when there is no such ranking
 * @throws TallybayError `week_invalid`
 */
export async function readRanking(lake: string, week: string, revision?: number): Promise<Ranking | null> {
  assertIsoWeek(week);
  const wanted = revision ?? (await listRankings(lake)).find((item) => item.week === week)?.revision;
  if (wanted === undefined) return null;
  try {
    const text = await readFile(join(rankingsDirectory(lake), `${week}-r${wanted}.json`), 'utf8');
    return rankingSchema.parse(JSON.parse(text));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}

/** Every published ranking, newest week first and within a week newest revision first. */
export async function listRankings(lake: string): Promise<PublishedRanking[]> {
  const names = await readdir(rankingsDirectory(lake)).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT' || error.code === 'ENOTDIR') return [];
    throw error;
  });
  return names
    .flatMap((name) => {
      const match = FILE_PATTERN.exec(name);
      return match ? [{ week: match[1]!, revision: Number(match[2]) }] : [];
    })
    .sort((a, b) => (a.week === b.week ? b.revision - a.revision : a.week < b.week ? 1 : -1));
}

/** The newest revisions of the `count` weeks before a week, oldest first; weeks that were never ranked are absent. */
export async function readRankingsBefore(lake: string, week: string, count: number): Promise<Ranking[]> {
  const weeks = Array.from({ length: count }, (_item, index) => shiftWeek(week, index - count));
  const rankings = await Promise.all(weeks.map((earlier) => readRanking(lake, earlier)));
  return rankings.filter((ranking) => ranking !== null);
}

async function writeDurably(lake: string, name: string, text: string): Promise<void> {
  await mkdir(stagingDirectory(lake), { recursive: true });
  await mkdir(rankingsDirectory(lake), { recursive: true });
  const staging = join(stagingDirectory(lake), `${name}-${process.pid}`);
  const file = await open(staging, 'w');
  try {
    await file.writeFile(text);
    await file.sync();
  } finally {
    await file.close();
  }
  await rename(staging, join(rankingsDirectory(lake), name));
  const directory = await open(rankingsDirectory(lake), 'r');
  try {
    await directory.sync();
  } finally {
    await directory.close();
  }
}
