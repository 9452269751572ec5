import type { EpisodeReport, Vehicle } from '@tallybay/contracts';
import { type CountedTime, driveEpisodes, driveLoads, drivePeaks, type Lake, peakContexts } from '@tallybay/lake';
import {
  HEAT_SIGNALS,
  type HeatSignal,
  loadExcessPct,
  type RuleSet,
  STAGE_NAMES,
  stageEpisodeRules,
} from '@tallybay/risk';
import { isoOf } from '../vehicles/vehicle-report.js';

/** Drives whose samples are read for one answer; the hottest are read first. */
const MOST_DRIVES = 40;

export interface EpisodeAsk {
  vehicle: Vehicle;
  rules: RuleSet;
  upload: string | null;
  fromMs: number;
  toMs: number;
  drives: ReadonlyMap<string, { startedMs: number; endedMs: number }>;
  /** Episodes of time that is counted from another log are left out; absent = all that the drives have. */
  counted?: CountedTime;
}

/**
 * Episodes of the temperatures with stages, cut from the samples of those drives whose dwell says there is something to
 * see. Each exceedance is told once, at the highest stage that it reached; oldest first.
 */
export async function findEpisodes(lake: Lake, ask: EpisodeAsk): Promise<EpisodeReport[]> {
  const rulesOf = new Map(
    HEAT_SIGNALS.map((signal) => [signal, stageEpisodeRules(ask.rules, signal, ask.vehicle)] as const),
  );
  const peaks = await drivePeaks(lake, ask.vehicle.id, { ...ask, signals: HEAT_SIGNALS });
  const hot = peaks
    .filter((peak) => peak.max >= (rulesOf.get(peak.signal as HeatSignal)?.[0]?.limit ?? Infinity))
    .sort((a, b) => b.max - a.max);
  const found: EpisodeReport[] = [];
  for (const [driveId, signals] of [...Map.groupBy(hot, (peak) => peak.drive_id)].slice(0, MOST_DRIVES)) {
    const drive = ask.drives.get(driveId);
    if (!drive) continue;
    const asked = signals.flatMap(({ signal, max }) =>
      (rulesOf.get(signal as HeatSignal) ?? [])
        .filter((rule) => rule.limit <= max)
        .map((rule) => ({ signal: signal as HeatSignal, rule })),
    );
    const key = { vehicleId: ask.vehicle.id, uploadId: signals[0]!.upload_id, ...drive };
    const cut = await driveEpisodes(lake, key, asked);
    found.push(
      ...cut.flatMap(({ signal, rule, episodes }) =>
        episodes
          .filter((episode) => counts(ask.counted, driveId, signal, episode.worstAtMs))
          .map((episode) => ({
            ...{
              upload: key.uploadId,
              drive: driveId,
              signal,
              label: ask.rules.heat.signals[signal as HeatSignal].label,
            },
            ...{ stage: rule.stage, written: rule.written, from: isoOf(episode.startMs), to: isoOf(episode.endMs) },
            ...{ seconds: episode.seconds, degreeMinutes: episode.degreeMinutes, worst: episode.worst },
            ...{ worstAt: isoOf(episode.worstAtMs), context: episode.contextAtWorst },
          })),
      ),
    );
  }
  return found.filter((one) => !found.some((other) => covers(other, one))).sort((a, b) => (a.from < b.from ? -1 : 1));
}

/** The same with what went on in the minutes before, and how the drive's load compares with the vehicle's other drives. */
export async function withPeakContext(
  lake: Lake,
  vehicle: string,
  episodes: EpisodeReport[],
): Promise<EpisodeReport[]> {
  if (episodes.length === 0) return episodes;
  const loads = await driveLoads(lake, vehicle);
  const contexts = new Map<string, Awaited<ReturnType<typeof peakContexts>>>();
  for (const [uploadId, list] of Map.groupBy(episodes, ({ upload }) => upload))
    contexts.set(
      uploadId,
      await peakContexts(
        lake,
        { vehicleId: vehicle, uploadId },
        list.map(({ worstAt }) => Date.parse(worstAt)),
      ),
    );
  return episodes.map((episode) => {
    const own = loads.find(({ driveId }) => driveId === episode.drive);
    const context = {
      ...episode.context,
      ...contexts.get(episode.upload)?.get(Date.parse(episode.worstAt)),
      load_excess_pct: own ? loadExcessPct(own, loads) : null,
    };
    return { ...episode, context };
  });
}

function counts(counted: CountedTime | undefined, driveId: string, signal: string, ms: number): boolean {
  const part = counted?.get(driveId)?.signals.get(signal);
  return !part || part.counted.some(({ fromMs, toMs }) => fromMs <= ms && ms <= toMs);
}

/** The same exceedance reached a higher stage. */
const covers = (higher: EpisodeReport, lower: EpisodeReport): boolean =>
  higher.signal === lower.signal &&
  higher.upload === lower.upload &&
  STAGE_NAMES.indexOf(higher.stage) > STAGE_NAMES.indexOf(lower.stage) &&
  higher.from >= lower.from &&
  higher.from <= lower.to;
