import { createHash } from 'node:crypto';
import { mkdir, readFile, rename, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { EpisodeReport, Vehicle } from '@tallybay/contracts';
import {
  driveHistory,
  type Lake,
  type LakeTable,
  type ReferenceRow,
  referenceDirectory,
  vehicleDirectoryName,
} from '@tallybay/lake';
import { type HeatSignal, type RuleSet, stageEpisodeRules } from '@tallybay/risk';
import { z } from 'zod';
import { findEpisodes } from '../../recordings/episode-search.js';

const WEEK_MS = 7 * 86_400_000;
const MOST_DRIVES = 1_000_000;
const TABLES = ['samples', 'drives', 'dwell'] as const;

type Row = ReferenceRow<'episodes'>;
const keptSchema = z.record(
  z.string(),
  z.object({ key: z.string(), rows: z.array(z.record(z.string(), z.unknown())) }),
);
type Kept = Record<string, { key: string; rows: Row[] }>;

const DRIVEN_SQL = `
SELECT vehicle_id, epoch_ms(started_at) // ${WEEK_MS} AS week,
       md5(string_agg(drive_id || ' ' || epoch_ms(started_at) || ' ' || seconds, ',' ORDER BY drive_id)) AS state
FROM drives GROUP BY ALL ORDER BY ALL`;
const driven = z.object({ vehicle_id: z.string(), week: z.number(), state: z.string() });

/**
 * Episodes of the fleet for SQL. Cutting them reads samples, so those of each vehicle and week are kept beside the reference
 * tables until its drives or the rules change.
 */
export class EpisodeExport {
  constructor(private readonly lakeDirectory: string) {}

  /** @param openLake options under which a vehicle's files are read */
  async rows(vehicles: readonly Vehicle[], rules: RuleSet, openLake: OpenLake): Promise<Row[]> {
    const drives = await openLake({ tables: ['drives'] });
    const states = await drives.query(DRIVEN_SQL, driven).finally(() => drives.close());
    const ofVehicles = Map.groupBy(states, ({ vehicle_id }) => vehicle_id);
    const rows: Row[] = [];
    for (const vehicle of vehicles) {
      const weeks = ofVehicles.get(vehicle.id);
      if (weeks) rows.push(...(await this.ofVehicle(vehicle, rules, weeks, openLake)));
    }
    return rows;
  }

  private async ofVehicle(
    vehicle: Vehicle,
    rules: RuleSet,
    weeks: readonly z.infer<typeof driven>[],
    openLake: OpenLake,
  ): Promise<Row[]> {
    const before = await this.keptOf(vehicle);
    const keys = weeks.map(({ week, state }) => ({ week, key: keyOf(state, vehicle, rules) }));
    const asBefore = ({ week, key }: { week: number; key: string }) => before[week]?.key === key;
    const now: Kept = Object.fromEntries(keys.filter(asBefore).map(({ week }) => [week, before[week]!]));
    const stale = keys.filter((one) => !asBefore(one));
    if (stale.length > 0) {
      // Only its own files: a look at the fleet's for each drive takes longer than the cutting.
      const lake = await openLake({ vehicle: vehicle.id, tables: TABLES });
      try {
        for (const { week, key } of stale) now[week] = { key, rows: await cutEpisodes(lake, vehicle, rules, week) };
      } finally {
        lake.close();
      }
      await this.keep(vehicle, now);
    }
    return keys.flatMap(({ week }) => now[week]!.rows);
  }

  private async keptOf(vehicle: Vehicle): Promise<Kept> {
    const text = await readFile(this.fileOf(vehicle), 'utf8')
      .then(JSON.parse)
      .catch(() => null);
    const kept = keptSchema.safeParse(text);
    return kept.success ? (kept.data as unknown as Kept) : {};
  }

  private async keep(vehicle: Vehicle, kept: Kept): Promise<void> {
    const file = this.fileOf(vehicle);
    await mkdir(dirname(file), { recursive: true });
    await writeFile(`${file}.${process.pid}`, JSON.stringify(kept));
    await rename(`${file}.${process.pid}`, file);
  }

  private fileOf(vehicle: Vehicle): string {
    return join(referenceDirectory(this.lakeDirectory), '.episodes', `${vehicleDirectoryName(vehicle.id)}.json`);
  }
}

type OpenLake = (only: { vehicle?: string; tables: readonly LakeTable[] }) => Promise<Lake>;

const keyOf = (state: string, { vehicleClass, fuel }: Vehicle, { stages, heat }: RuleSet): string =>
  createHash('sha256')
    .update(JSON.stringify([state, vehicleClass, fuel, stages, heat]))
    .digest('hex');

/** Of one week, so that no answer leaves out drives because there are too many hot ones. */
async function cutEpisodes(lake: Lake, vehicle: Vehicle, rules: RuleSet, week: number): Promise<Row[]> {
  const span = { fromMs: week * WEEK_MS, toMs: (week + 1) * WEEK_MS };
  const drives = await driveHistory(lake, vehicle.id, { ...span, limit: MOST_DRIVES });
  const found = await findEpisodes(lake, {
    ...{ vehicle, rules, upload: null, ...span },
    drives: new Map(drives.map((drive) => [drive.drive_id, { startedMs: drive.started_ms, endedMs: drive.ended_ms }])),
  });
  return found.map((episode) => episodeRow(vehicle, rules, episode));
}

function episodeRow(vehicle: Vehicle, rules: RuleSet, episode: EpisodeReport): Row {
  const stages = stageEpisodeRules(rules, episode.signal as HeatSignal, vehicle);
  const context = episode.context as Record<string, number | null>;
  return {
    ...{ vehicle_id: vehicle.id, upload_id: episode.upload, signal: episode.signal, stage: episode.stage },
    limit_value: stages.find(({ stage }) => stage === episode.stage)?.limit ?? null,
    ...{ started_at: Date.parse(episode.from), ended_at: Date.parse(episode.to), seconds: episode.seconds },
    ...{ degree_minutes: episode.degreeMinutes, worst: episode.worst, worst_at: Date.parse(episode.worstAt) },
    vehicle_speed_kmh: context.vehicle_speed_kmh ?? null,
    engine_load_pct: context.engine_load_pct ?? null,
    engine_speed_rpm: context.engine_speed_rpm ?? null,
    ambient_temp_c: context.ambient_temp_c ?? null,
  };
}
