import { createHash } from 'node:crypto';
import { mkdir, readFile, rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { EpisodeReport, Vehicle } from '@tallybay/contracts';
import { driveHistory, type Lake, type ReferenceRow, referenceDirectory, vehicleDirectoryName } from '@tallybay/lake';
import { type HeatSignal, type RuleSet, stageEpisodeRules } from '@tallybay/risk';
import { z } from 'zod';
import { findEpisodes } from '../../recordings/episode-search.js';

const WEEK_MS = 7 * 86_400_000;
const MOST_DRIVES = 1_000_000;

type Row = ReferenceRow<'episodes'>;
const keptSchema = z.object({ key: z.string(), rows: z.array(z.record(z.string(), z.unknown())) });

const DRIVEN_SQL = `
SELECT vehicle_id, md5(string_agg(drive_id || ' ' || epoch_ms(started_at) || ' ' || seconds, ',' ORDER BY drive_id)) AS state
FROM drives GROUP BY vehicle_id`;
const driven = z.object({ vehicle_id: z.string(), state: z.string() });

/**
 * Episodes of the fleet for SQL. Cutting them reads samples, so each vehicle's are kept beside the reference tables until its
 * drives or the rules change.
 */
export class EpisodeExport {
  constructor(private readonly lakeDirectory: string) {}

  async rows(lake: Lake, vehicles: readonly Vehicle[], rules: RuleSet): Promise<Row[]> {
    const states = new Map((await lake.query(DRIVEN_SQL, driven)).map((row) => [row.vehicle_id, row.state]));
    const rows: Row[] = [];
    for (const vehicle of vehicles) {
      const state = states.get(vehicle.id);
      if (state !== undefined) rows.push(...(await this.ofVehicle(lake, vehicle, rules, state)));
    }
    return rows;
  }

  private async ofVehicle(lake: Lake, vehicle: Vehicle, rules: RuleSet, state: string): Promise<Row[]> {
    const key = createHash('sha256')
      .update(JSON.stringify([state, vehicle.vehicleClass, vehicle.fuel, rules.stages, rules.heat]))
      .digest('hex');
    const folder = join(referenceDirectory(this.lakeDirectory), '.episodes');
    const file = join(folder, `${vehicleDirectoryName(vehicle.id)}.json`);
    const kept = keptSchema.safeParse(
      await readFile(file, 'utf8')
        .then(JSON.parse)
        .catch(() => null),
    );
    if (kept.success && kept.data.key === key) return kept.data.rows as unknown as Row[];
    const rows = await cutEpisodes(lake, vehicle, rules);
    await mkdir(folder, { recursive: true });
    await writeFile(`${file}.${process.pid}`, JSON.stringify({ key, rows }));
    await rename(`${file}.${process.pid}`, file);
    return rows;
  }
}

/** Week by week, so that no answer leaves out drives because there are too many hot ones. */
async function cutEpisodes(lake: Lake, vehicle: Vehicle, rules: RuleSet): Promise<Row[]> {
  const span = { fromMs: 0, toMs: 8_640_000_000_000, limit: MOST_DRIVES };
  const drives = await driveHistory(lake, vehicle.id, span);
  const weeks = Map.groupBy(drives, ({ started_ms }) => Math.floor(started_ms / WEEK_MS));
  const rows: Row[] = [];
  for (const [week, inWeek] of [...weeks].sort(([a], [b]) => a - b)) {
    const found = await findEpisodes(lake, {
      ...{ vehicle, rules, upload: null, fromMs: week * WEEK_MS, toMs: (week + 1) * WEEK_MS },
      drives: new Map(
        inWeek.map((drive) => [drive.drive_id, { startedMs: drive.started_ms, endedMs: drive.ended_ms }]),
      ),
    });
    rows.push(...found.map((episode) => episodeRow(vehicle, rules, episode)));
  }
  return rows;
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
