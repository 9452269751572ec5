import { TallybayError, type Vehicle, type VehicleEvidence } from '@tallybay/contracts';
import {
  countOnce,
  driveHistory,
  Lake,
  listRankings,
  readRanking,
  vehicleDwell,
  vehicleExtremes,
} from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { HEAT_SIGNALS, isoWeekOf, type RuleSet, STAGE_NAMES, shiftWeek, stagesFor, weekWindow } from '@tallybay/risk';
import { z } from 'zod';
import { type EpisodeAsk, findEpisodes, withPeakContext } from '../recordings/episode-search.js';
import { nameOf } from '../recordings/recording-report.js';
import { isoOf } from './vehicle-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
const MOST_EPISODES = 100;
const MOST_DRIVES = 100_000;

/** What rankings keep of their early warnings; rankings of older rules have none. */
const warningInputs = z.object({
  heat: z.object({
    warnings: z.array(
      z.object({ signal: z.string(), excessK: z.number(), thresholdK: z.number(), recentDrives: z.number() }),
    ),
  }),
});

/** What stands behind "what is wrong, since when, how sure" of one vehicle. */
export class VehicleEvidenceReader {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
  ) {}

  /** The newest `weeks` ISO weeks in the depot's zone. @throws TallybayError `vehicle_not_found` */
  async read(id: string, weeks: number, until?: string): Promise<VehicleEvidence> {
    const vehicle = await this.registry.vehicles.get(id);
    if (!vehicle)
      throw new TallybayError('vehicle_not_found', `There is no vehicle ${id}`, {
        advice: 'GET /v1/vehicles lists what is registered',
      });
    const depots = await this.registry.depots.list();
    const timeZone = depots.find((depot) => depot.id === vehicle.depot)?.timeZone ?? 'UTC';
    const last = until ?? isoWeekOf(this.nowMs(), timeZone);
    const names = Array.from({ length: weeks }, (_, index) => shiftWeek(last, index - weeks + 1));
    const span = { fromMs: weekWindow(names[0]!, timeZone).fromMs, toMs: weekWindow(last, timeZone).toMs };
    const rules = await this.rules();
    const lake = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle: id });
    try {
      const counted = await countOnce(lake, span, { signals: HEAT_SIGNALS });
      return {
        ...{ vehicle: id, timeZone, from: isoOf(span.fromMs), to: isoOf(span.toMs) },
        ...(await this.episodes(lake, { vehicle, rules, counted, ...span })),
        dwell: await dwellOf(lake, vehicle, rules, span),
        extremes: await extremesOf(lake, id),
        standing: await this.standing(id, names),
      };
    } finally {
      lake.close();
    }
  }

  private async episodes(lake: Lake, ask: Omit<EpisodeAsk, 'drives' | 'upload'>) {
    const rows = await driveHistory(lake, ask.vehicle.id, { ...ask, limit: MOST_DRIVES });
    const drives = new Map(rows.map((row) => [row.drive_id, { startedMs: row.started_ms, endedMs: row.ended_ms }]));
    const found = await findEpisodes(lake, { ...ask, drives, upload: null });
    const height = (stage: (typeof found)[number]['stage']) => STAGE_NAMES.indexOf(stage);
    found.sort((a, b) => height(b.stage) - height(a.stage) || b.seconds - a.seconds);
    const shown = await withPeakContext(lake, ask.vehicle.id, found.slice(0, MOST_EPISODES));
    return { episodes: shown, episodesFound: found.length };
  }

  private async standing(id: string, weeks: readonly string[]): Promise<VehicleEvidence['standing']> {
    const published = new Set((await listRankings(this.lakeDirectory)).map(({ week }) => week));
    const rankings = await Promise.all(
      weeks.filter((week) => published.has(week)).map((week) => readRanking(this.lakeDirectory, week)),
    );
    return rankings.flatMap((ranking) => {
      if (!ranking) return [];
      const row = ranking.ranked.find(({ vehicle }) => vehicle === id);
      const kept = warningInputs.safeParse(row?.inputs);
      const standing = {
        ...{ week: ranking.week, of: ranking.ranked.length, rank: row?.rank ?? null, score: row?.score ?? null },
        ...{ coverage: row?.coverage.share ?? null, warnings: kept.success ? kept.data.heat.warnings : [] },
        reasons:
          row?.reasons.map(({ text }) => text) ??
          ranking.unranked
            .filter(({ vehicle }) => vehicle === id)
            .flatMap(({ causes }) => causes.map(({ text }) => text)),
      };
      return [standing];
    });
  }
}

async function dwellOf(lake: Lake, vehicle: Vehicle, rules: RuleSet, span: { fromMs: number; toMs: number }) {
  const rows = Map.groupBy(
    await vehicleDwell(lake, vehicle.id, { ...span, signals: HEAT_SIGNALS }),
    ({ signal }) => signal,
  );
  return HEAT_SIGNALS.flatMap((signal) => {
    const bins = rows.get(signal);
    if (!bins) return [];
    const { label, unit } = nameOf(signal);
    const stages = stagesFor(rules.stages, signal, vehicle).map(({ stage, valueC, written }) => ({
      ...{ stage, value: valueC, written },
    }));
    return [{ signal, label, unit, bins: bins.map(({ low, high, seconds }) => ({ low, high, seconds })), stages }];
  });
}

async function extremesOf(lake: Lake, id: string): Promise<VehicleEvidence['extremes']> {
  return (await vehicleExtremes(lake, id)).map((row) => ({
    ...{ signal: row.signal, label: nameOf(row.signal).label, unit: nameOf(row.signal).unit },
    min: { value: row.min, at: isoOf(row.min_at), upload: row.min_upload },
    max: { value: row.max, at: isoOf(row.max_at), upload: row.max_upload },
  }));
}
