import type { SignalId } from '@tallybay/decode';
import type { VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import { HEAT_SIGNALS, stagesFor } from '../rules/stages.js';
import { weekGlances } from '../warning/trips.js';
import { type DriveLoad, loadExcessPct } from './towing.js';

/** The week's highest value of a temperature that reached a stage, as the figures of its drive have it. */
export interface HeatPeak {
  signal: SignalId;
  driveId: string;
  uploadId: string;
  atMs: number;
  valueC: number;
  /** Of its drive above the vehicle's other drives; see `loadExcessPct`. */
  loadExcessPct: number | null;
}

/** One peak at most a temperature. Of equal ones the earlier; a drive without the instant has none. */
export function heatPeaks(facts: VehicleFacts, rules: RuleSet): HeatPeak[] {
  const loads = driveLoads(facts);
  return HEAT_SIGNALS.flatMap((signal) => {
    const lowest = stagesFor(rules.stages, signal, facts.vehicle)[0]?.valueC ?? Number.POSITIVE_INFINITY;
    const [top] = facts.signals
      .flatMap((row) =>
        row.signal === signal && row.max !== null && row.max >= lowest && row.maxAtMs !== undefined
          ? [{ driveId: row.driveId, valueC: row.max, atMs: row.maxAtMs }]
          : [],
      )
      .sort((a, b) => b.valueC - a.valueC || a.atMs - b.atMs || (a.driveId < b.driveId ? -1 : 1));
    if (!top) return [];
    const own = loads.find(({ driveId }) => driveId === top.driveId);
    return [{ signal, ...top, uploadId: uploadOf(top.driveId), loadExcessPct: own ? loadExcessPct(own, loads) : null }];
  });
}

function driveLoads(facts: VehicleFacts): DriveLoad[] {
  return [...facts.earlierDrives, ...weekGlances(facts)].flatMap(({ driveId, signals }) => {
    const [loadPct, speedKmh] = [signals.engine_load_pct?.mean, signals.vehicle_speed_kmh?.mean];
    return typeof loadPct === 'number' && typeof speedKmh === 'number' ? [{ driveId, loadPct, speedKmh }] : [];
  });
}

/** A drive's id is its upload's and its number in it. */
const uploadOf = (driveId: string): string => driveId.replace(/-d\d+$/, '');
