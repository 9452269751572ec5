import { randomBytes } from 'node:crypto';
import { statSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { isoWeekOf } from '@tallybay/risk';
import { z } from 'zod';
import { Lake } from '../lake.js';
import { stagingDirectory } from '../layout.js';
import { LAKE_TABLES, type LakeTable } from '../tables.js';
import { OwnFiles } from './own-files.js';
import { putInPlace, withCopier, writeRows } from './pack-files.js';
import { livePacks, type Pack, packFile, packNote, packSchema } from './packs.js';
import { readWithheld, type Withheld, withheldFiles, withhold } from './withheld.js';

const TABLES = Object.keys(LAKE_TABLES) as LakeTable[];
const DAY_MS = 86_400_000;
/** Weeks that ended so long ago get few more logs. */
const QUIET_MS = 7 * DAY_MS;
/** Longer recordings are no small files. */
const SMALL_BYTES = 32 * 1024 * 1024;

export interface CompactionOptions {
  nowMs: number;
  graceMs: number;
  /** Between the moments at which files appear and count, for readers that ask for both one after the other. */
  settleMs: number;
  /** Packs announced in a round, and how long packs are made. */
  mostPacks: number;
  mostMs: number;
  /** Whether all of these uploads are stored for good: nobody decodes any of them again. */
  isSettled(uploads: readonly string[]): Promise<boolean>;
}

/**
 * One round of making packs of small files; the caller sees to it that no other runs, and that no upload is marked to be
 * decoded again meanwhile. A pack takes two rounds: announced (withheld before it is there), and after the grace made, put into place
 * and, by one rename, counted instead of its uploads' own files. A kill leaves one or the other.
 */
export async function compact(lake: string, options: CompactionOptions): Promise<{ packed: number; files: number }> {
  const made = await makeAnnounced(lake, options);
  await announce(lake, options);
  return made;
}

async function makeAnnounced(lake: string, options: CompactionOptions): Promise<{ packed: number; files: number }> {
  const untilMs = performance.now() + options.mostMs;
  const due = readWithheld(lake).filter(
    ({ kind, atMs }) => kind === 'entering' && options.nowMs - atMs >= options.graceMs,
  );
  const made: { entry: Withheld; pack: Pack; sources: Map<string, string | null> }[] = [];
  await withCopier(lake, async (copier) => {
    for (const entry of due) {
      if (performance.now() > untilMs) break;
      const pack = withoutAbsent(lake, packSchema.parse(JSON.parse(entry.purpose)));
      const sources = sourcesOf(lake, pack);
      const stamps = new Map([...sources.values()].flat().map((path) => [path, stampOf(path)]));
      if (!(await options.isSettled(pack.uploads)) || (sources.get('uploads')?.length ?? 0) === 0) giveUp(lake, entry);
      else {
        for (const [table, paths] of sources) await writeRows(copier, table, paths, packFile(lake, table, pack));
        made.push({ entry, pack, sources: stamps });
      }
    }
  });
  if (made.length > 0) await pause(options.settleMs);
  let files = 0;
  for (const { entry, pack, sources } of made) {
    const same = [...sources].every(([path, stamp]) => stampOf(path) === stamp);
    if (!same || !(await options.isSettled(pack.uploads))) {
      giveUp(lake, entry);
      continue;
    }
    const staging = join(stagingDirectory(lake), `_${pack.id}-${process.pid}.json`);
    writeFileSync(staging, JSON.stringify(pack));
    putInPlace(staging, packNote(lake, pack));
    const leaving = [...sources.keys()].map((path) => relative(lake, path));
    withhold(lake, { id: pack.id, kind: 'leaving', files: leaving, purpose: 'packed' });
    files += leaving.length;
  }
  return { packed: made.length, files };
}

/** Without uploads that have gone to another vehicle since. */
function withoutAbsent(lake: string, pack: Pack): Pack {
  const files = new OwnFiles(lake);
  const packed = new Set(livePacks(lake, pack.vehicleId).flatMap(({ uploads }) => uploads));
  const isHere = (upload: string) => packed.has(upload) || files.of('uploads', pack.vehicleId, upload).length > 0;
  return { ...pack, uploads: pack.uploads.filter(isHere) };
}

/** What was put into place of it is removed after the grace. */
function giveUp(lake: string, { id, files }: Withheld): void {
  withhold(lake, { id, kind: 'leaving', files, purpose: 'given up' });
}

/** By table, the files that count of the pack's uploads, in its order; a pack of the same week goes whole. */
function sourcesOf(lake: string, pack: Pack): Map<LakeTable, string[]> {
  const withheld = withheldFiles(lake);
  const files = new OwnFiles(lake, withheld);
  const former = livePacks(lake, pack.vehicleId).filter(({ week }) => week === pack.week);
  const own = pack.uploads.filter((upload) => !former.some(({ uploads }) => uploads.includes(upload)));
  const found = TABLES.map((table): [LakeTable, string[]] => {
    const paths = [
      ...former.map((one) => packFile(lake, table, one)),
      ...own.flatMap((upload) => files.of(table, pack.vehicleId, upload).map((file) => join(lake, file))),
    ];
    return [table, paths.filter((path) => !withheld.has(relative(lake, path)) && stampOf(path) !== null)];
  });
  return new Map(found.filter(([, paths]) => paths.length > 0));
}

/** A file that was replaced has another. */
function stampOf(path: string): string | null {
  const stats = statSync(path, { throwIfNoEntry: false });
  return stats ? `${stats.ino} ${stats.size} ${stats.mtimeMs}` : null;
}

const uploadRow = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  first_ms: z.number(),
  last_ms: z.number(),
});
const UPLOADS_SQL = `
SELECT vehicle_id, upload_id, epoch_ms(first_at) AS first_ms, epoch_ms(last_at) AS last_ms FROM uploads
WHERE first_at IS NOT NULL AND last_at IS NOT NULL ORDER BY vehicle_id, first_at, upload_id`;

/** Announces packs of weeks that have been quiet: of two small uploads or more, or of one beside a pack. */
async function announce(lake: string, { nowMs, mostPacks, isSettled }: CompactionOptions): Promise<void> {
  const pending = new Set(
    readWithheld(lake).flatMap(({ kind, purpose }) =>
      kind === 'entering' ? keyOf(packSchema.parse(JSON.parse(purpose))) : [],
    ),
  );
  let announced = pending.size;
  for (const pack of await candidates(lake, nowMs)) {
    if (announced >= mostPacks) return;
    if (pending.has(keyOf(pack)) || !(await isSettled(pack.uploads))) continue;
    const files = TABLES.map((table) => relative(lake, packFile(lake, table, pack)));
    withhold(lake, { id: pack.id, kind: 'entering', files, purpose: JSON.stringify(pack) });
    announced++;
  }
}

const keyOf = ({ vehicleId, week }: Pick<Pack, 'vehicleId' | 'week'>): string => `${week} ${vehicleId}`;

async function candidates(lake: string, nowMs: number): Promise<Pack[]> {
  const reader = await Lake.open(lake, { threads: 1, memoryLimit: '256MB', tables: ['uploads'] });
  const rows = await reader.query(UPLOADS_SQL, uploadRow).finally(() => reader.close());
  const quiet = rows.filter(({ first_ms, last_ms }) => Math.max(mondayAfter(first_ms), last_ms) + QUIET_MS <= nowMs);
  const files = new OwnFiles(lake);
  const isSmall = (vehicleId: string, uploadId: string) =>
    files.of('samples', vehicleId, uploadId).reduce((sum, file) => sum + sizeOf(join(lake, file)), 0) <= SMALL_BYTES;
  const weeks = Map.groupBy(quiet, (row) => keyOf({ vehicleId: row.vehicle_id, week: isoWeekOf(row.first_ms, 'UTC') }));
  return [...weeks.values()].flatMap((all) => {
    const vehicleId = all[0]!.vehicle_id;
    const week = isoWeekOf(all[0]!.first_ms, 'UTC');
    const packed = new Set(
      livePacks(lake, vehicleId)
        .filter((pack) => pack.week === week)
        .flatMap(({ uploads }) => uploads),
    );
    const small = all.filter((row) => packed.has(row.upload_id) || isSmall(vehicleId, row.upload_id));
    const fresh = small.filter((row) => !packed.has(row.upload_id)).length;
    if (fresh === 0 || small.length < 2) return [];
    const id = `pack-${week}-p${randomBytes(6).toString('hex')}`;
    const lastMs = Math.max(...small.map(({ last_ms }) => last_ms));
    return [{ id, vehicleId, week, lastMs, uploads: small.map(({ upload_id }) => upload_id) }];
  });
}

const sizeOf = (path: string): number => statSync(path, { throwIfNoEntry: false })?.size ?? 0;

/** First instant of the next UTC week; 1970-01-05 was a Monday. */
const mondayAfter = (ms: number): number => (Math.floor((ms / DAY_MS - 4) / 7) + 1) * 7 * DAY_MS + 4 * DAY_MS;
