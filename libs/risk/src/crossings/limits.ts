import type { SignalLimit } from '@tallybay/contracts';
import { isSignalId, type SignalId } from '@tallybay/decode';
import type { RuleSet } from '../rules/rule-set.js';
import { HEAT_SIGNALS, type StageName, stagesFor } from '../rules/stages.js';

export type LimitDirection = 'low' | 'high';

/** A limit that holds for one vehicle; values in the signal's canonical unit. */
export interface VehicleLimit {
  signal: SignalId;
  direction: LimitDirection;
  stage: StageName;
  limit: number;
  written: string;
  hysteresis: number;
  minSeconds: number;
  during: 'running' | 'always';
}

/** Until somebody edits them: only where no vehicle in health gets. The maker's data should replace it. */
export const SIGNAL_LIMIT_ROWS: readonly SignalLimit[] = [
  {
    ...{ signal: 'engine_oil_pressure_kpa', vehicleClass: '*', direction: 'low', stage: 'alarm' },
    ...{ value: 68.9, written: '10 psi', hysteresis: 15, minSeconds: 10, during: 'running' },
    source: 'common practice from memory, no source',
  },
];

/** Of the temperature stages: below this many touch them in health, and every touch would be an event. */
const EVENT_STAGES: readonly StageName[] = ['caution', 'alarm', 'severe'];

/**
 * The limits that hold for a vehicle. For one signal and direction its own rows replace those of its class, and those
 * replace the `*` rows. A temperature with stages keeps them (from `caution` on) as high limits unless it has rows here.
 */
export function limitsFor(
  rows: readonly SignalLimit[],
  rules: Pick<RuleSet, 'stages' | 'heat'>,
  vehicle: { id: string; vehicleClass: string; fuel?: string | undefined },
): VehicleLimit[] {
  const groups = Map.groupBy(rows, (row) => `${row.direction} ${row.signal}`);
  const own = [...groups.values()].flatMap((group) => chosen(group, vehicle)).flatMap(asLimit);
  const taken = new Set(own.filter(({ direction }) => direction === 'high').map(({ signal }) => signal));
  const heat = HEAT_SIGNALS.filter((signal) => !taken.has(signal)).flatMap((signal) =>
    stagesFor(rules.stages, signal, vehicle)
      .filter(({ stage }) => EVENT_STAGES.includes(stage))
      .map(
        ({ stage, valueC, written }): VehicleLimit => ({
          ...{ signal, direction: 'high', stage, limit: valueC, written, during: 'running' },
          ...{ hysteresis: rules.heat.signals[signal].hysteresisK, minSeconds: rules.heat.minEpisodeSeconds },
        }),
      ),
  );
  return [...own, ...heat].sort((a, b) => compare(limitKey(a), limitKey(b)));
}

const limitKey = ({ signal, direction, stage }: VehicleLimit): string => `${signal} ${direction} ${stage}`;
const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

function chosen(rows: readonly SignalLimit[], vehicle: { id: string; vehicleClass: string }): SignalLimit[] {
  const mine = rows.filter((row) => row.vehicle === vehicle.id);
  if (mine.length > 0) return mine;
  const ofClass = rows.filter((row) => row.vehicle === undefined && row.vehicleClass === vehicle.vehicleClass);
  return ofClass.length > 0 ? ofClass : rows.filter((row) => row.vehicle === undefined && row.vehicleClass === '*');
}

/** A signal that a newer catalogue has under another name holds no limit. */
function asLimit(row: SignalLimit): VehicleLimit[] {
  const { signal, direction, stage, value, written, hysteresis, minSeconds, during } = row;
  return isSignalId(signal)
    ? [{ signal, direction, stage, limit: value, written, hysteresis, minSeconds, during }]
    : [];
}

/** What is wrong with rows that cannot hold together, in words; null = nothing. */
export function limitConflict(rows: readonly SignalLimit[]): { index: number; text: string } | null {
  const seen = new Map<string, number>();
  for (const [index, row] of rows.entries()) {
    if (!isSignalId(row.signal)) return { index, text: `there is no signal "${row.signal}" in the catalogue` };
    const key = [row.signal, row.vehicle ?? '', row.vehicleClass, row.direction, row.stage].join(' ');
    const before = seen.get(key);
    if (before !== undefined)
      return {
        index,
        text: `row ${before} already has a ${row.direction} ${row.stage} limit of ${row.signal} for the same vehicles`,
      };
    seen.set(key, index);
  }
  return null;
}
