import type { Lake } from '../lake.js';
import { LAKE_TABLES } from '../tables.js';
import { type CountedTime, readCountedTime } from './counted-time.js';
import { countsOnce, setRecordedAside } from './recorded-views.js';
import { type CountedDrive, recountShared } from './shared-drives.js';

/** Columns that a part has of its own, by table; the rest is the drive's. */
const OWN_COLUMNS = {
  drives: {
    seconds: 'counted.seconds',
    distance_km: 'distance_km * counted.share',
    fuel_l: 'fuel_l * counted.share',
  },
  dwell: {
    seconds: "CASE counted.share WHEN 'part' THEN bins.seconds ELSE all_rows.seconds END",
    value_seconds: "CASE counted.share WHEN 'part' THEN bins.value_seconds ELSE all_rows.value_seconds END",
    min: "CASE counted.share WHEN 'part' THEN bins.min ELSE all_rows.min END",
    max: "CASE counted.share WHEN 'part' THEN bins.max ELSE all_rows.max END",
  },
  signal_stats: Object.fromEntries(
    ['seconds', 'mean', 'valid', 'min', 'max', 'first', 'last'].map((name) => [
      name,
      `CASE counted.share WHEN 'part' THEN counted.${name}${name === 'valid' ? '::BIGINT' : ''} ELSE all_rows.${name} END`,
    ]),
  ),
} as const satisfies Record<string, Record<string, string>>;

const JOINS = {
  drives: 'JOIN counted_time AS counted ON counted.drive_id = all_rows.drive_id AND counted.seconds > 0',
  dwell: `JOIN counted_signals AS counted ON counted.drive_id = all_rows.drive_id AND counted.signal = all_rows.signal
    LEFT JOIN counted_bins AS bins
      ON bins.drive_id = all_rows.drive_id AND bins.signal = all_rows.signal AND bins.low = all_rows.low
    WHERE counted.share = 'all' OR bins.seconds IS NOT NULL`,
  signal_stats:
    'JOIN counted_signals AS counted ON counted.drive_id = all_rows.drive_id AND counted.signal = all_rows.signal',
} as const;

/**
 * From here on the lake's views `drives`, `dwell` and `signal_stats` count each second of a vehicle once, for drives that
 * started in [fromMs, toMs): where several uploads recorded the same time, one of them has it (see `countedParts`). Without
 * overlaps nothing changes. May be called again for another span, which then replaces the first.
 * @param options.signals signals that will be asked for: only these are counted again where a part of a drive counts
 */
export async function countOnce(
  lake: Lake,
  span: { fromMs: number; toMs: number },
  options: { signals?: readonly string[] } = {},
): Promise<CountedTime> {
  const counted = await readCountedTime(lake, span);
  if (counted.size === 0 && !countsOnce(lake)) return counted;
  const drives = await recountShared(lake, counted, options.signals);
  if (!countsOnce(lake)) {
    await setRecordedAside(lake);
    for (const table of Object.keys(JOINS) as (keyof typeof JOINS)[]) await lake.run(countedViewSql(table));
  }
  await fillTables(lake, drives);
  return counted;
}

function countedViewSql(table: keyof typeof JOINS): string {
  const own: Record<string, string> = OWN_COLUMNS[table];
  const names = LAKE_TABLES[table].map(({ name }) => name);
  const recorded = names.map((name) => `"${name}"`).join(', ');
  const counted = names.map((name) => `${own[name] ?? `all_rows."${name}"`} AS "${name}"`).join(', ');
  return `CREATE VIEW ${table} AS
    SELECT ${recorded} FROM recorded_${table}
    WHERE drive_id IS NULL OR drive_id NOT IN (SELECT drive_id FROM shared_drives)
    UNION ALL
    SELECT ${counted} FROM recorded_${table} AS all_rows ${JOINS[table]}`;
}

async function fillTables(lake: Lake, drives: readonly CountedDrive[]): Promise<void> {
  await lake.replaceRows(
    'shared_drives',
    drives.map(({ drive }) => [drive.driveId]),
  );
  await lake.replaceRows(
    'counted_time',
    drives.map(({ drive, seconds, distanceShare }) => [drive.driveId, seconds, distanceShare]),
  );
  await lake.replaceRows(
    'counted_signals',
    drives.flatMap(({ drive, signals }) =>
      [...signals].flatMap(([signal, { share, engineSeconds, figures }]) => {
        if (share === 'none') return [];
        const mean = figures && figures.seconds > 0 ? figures.valueSeconds / figures.seconds : null;
        const own = figures && [
          figures.seconds,
          mean,
          figures.valid,
          figures.min,
          figures.max,
          figures.first,
          figures.last,
        ];
        return [[drive.driveId, signal, share, engineSeconds, ...(own ?? Array<null>(7).fill(null))]];
      }),
    ),
  );
  await lake.replaceRows(
    'counted_bins',
    drives.flatMap(({ drive, signals }) =>
      [...signals].flatMap(([signal, { figures }]) =>
        (figures?.bins ?? []).map((bin) => [
          ...[drive.driveId, signal, bin.low],
          ...[bin.seconds, bin.valueSeconds, bin.min, bin.max],
        ]),
      ),
    ),
  );
}
