import type { SignalId } from '@tallybay/decode';
import type { SensorRule } from '../rules/sensors.js';
import { median } from '../stats/descriptive.js';
import { type ColdStart, SOAKED } from './cold-starts.js';
import type { SensorContext } from './sensor-context.js';

const FLUIDS: readonly SignalId[] = ['coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c'];

type Asked = Pick<SensorContext, 'signal' | 'facts' | 'classAir' | 'rule'>;

/** What a first value is held against, the surest first. */
export type Reference = 'fluid' | 'air' | 'class';

export interface Compared {
  startedMs: number;
  soakHours: number;
  /** Own first value less the middle of the others [K]. */
  difference: number;
  /** Between the others [K]. */
  spread: number;
  lowest: number;
  /** Own first value less the highest of the others [K]. */
  aboveAll: number;
  reference: Reference;
  /** Of the signal itself in that drive [K]. */
  warmedK: number;
}

function compare(start: ColdStart, { signal, facts, classAir }: Asked): Compared | null {
  const own = start.first[signal];
  if (own === undefined) return null;
  const others = SOAKED.filter((id) => id !== signal && start.first[id] !== undefined);
  const values = others.map((id) => start.first[id]!);
  const common = { ...start, warmedK: start.warmedK[signal]! };
  if (others.length >= 2) {
    const reference = others.some((id) => FLUIDS.includes(id)) ? 'fluid' : 'air';
    return { ...common, ...against(own, values), reference };
  }
  const airOf = (id: SignalId) => classAir.at(facts.vehicle.id, id, start.startedMs);
  const air = airOf(signal);
  if (!air) return null;
  // An own sensor of the air says how this vehicle's night was unlike the others', not what the signal should have read.
  const likeClass = others.map((id) => air.valueC + start.first[id]! - airOf(id)!.valueC);
  const held = against(own, [air.valueC, ...likeClass]);
  return { ...common, ...held, spread: Math.max(air.spreadK, held.spread), reference: 'class' };
}

function against(own: number, others: readonly number[]) {
  const [lowest, highest] = [Math.min(...others), Math.max(...others)];
  return { difference: own - median(others), aboveAll: own - highest, spread: highest - lowest, lowest };
}

/** One signal's cold starts held against the others', where these agree and no block heater may be in use. */
export function comparedStarts(starts: readonly ColdStart[], asked: Asked): Compared[] {
  const { rule } = asked;
  return starts.flatMap((start) => {
    const compared = compare(start, asked);
    const usable =
      compared &&
      compared.spread <= rule.soakAgreementK &&
      compared.lowest >= rule.soakLeastAmbientC &&
      // Against air alone a start counts only when the engine warmed up after it: a recorder that wakes late sees warm engines.
      (compared.reference === 'fluid' || compared.warmedK >= rule.air.warmedK);
    return usable ? [compared] : [];
  });
}

/** Warmth that the stop may have left in the engine, above the air [K]. */
export const leftOverK = ({ soakHours }: Compared, { leftOver }: SensorRule['air']): number =>
  leftOver.fromK * Math.exp(-soakHours / leftOver.hours);
