import type { SignalId } from '@tallybay/decode';
import type { SensorRule } from '../rules/sensors.js';
import { median } from '../stats/descriptive.js';
import { type ColdStart, FLUIDS, SOAKED } from './cold-starts.js';
import type { SensorContext } from './sensor-context.js';

type Asked = Pick<SensorContext, 'signal' | 'facts' | 'classAir' | 'rule'>;

/**
 * What a first value is held against, the surest first: own sensors, a fluid among them or only of the air; one own sensor
 * and the neighbours; the neighbours alone.
 */
export type Reference = 'fluid' | 'air' | 'shared' | 'class';

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

function compare(start: ColdStart, asked: Asked): Compared | null {
  const { signal, facts, classAir } = asked;
  const own = start.first[signal];
  if (own === undefined) return null;
  const others = SOAKED.filter((id) => id !== signal && start.first[id] !== undefined);
  const read = others.map((id) => start.first[id]!);
  const common = { ...start, warmedK: start.warmedK[signal]! };
  if (others.length >= 2 && others.some((id) => FLUIDS.includes(id)))
    return { ...common, ...againstFluids(own, start, others, asked), reference: 'fluid' };
  const placed = others.map((id) => placedValue(start, id, asked));
  if (others.length >= 2) {
    const believed = placed.map((value, index) => value ?? read[index]!);
    return { ...common, ...against(own, believed), reference: 'air' };
  }
  const air = classAir.at(facts.vehicle.id, signal, start.startedMs);
  if (!air) return null;
  const [shared] = placed;
  if (typeof shared === 'number') {
    // The one sensor is only believed where it tells of the same night as the neighbours'.
    const spread = Math.abs(shared - air.valueC);
    return { ...common, ...against(own, [shared]), spread, reference: 'shared' };
  }
  const held = against(own, [air.valueC, ...read]);
  return { ...common, ...held, spread: Math.max(air.spreadK, held.spread), reference: 'class' };
}

/**
 * One sensor of the air may sit where it is warm, or be bad itself: where the others do not agree with it but do with the other
 * one, that is left out. A fluid never is, since warmth that a stop left shows in one fluid before the next.
 */
function againstFluids(own: number, { first }: ColdStart, others: readonly SignalId[], { rule }: Asked) {
  const all = against(
    own,
    others.map((id) => first[id]!),
  );
  const air = others.filter((id) => !FLUIDS.includes(id));
  if (all.spread <= rule.soakAgreementK || air.length < 2) return all;
  const fluidC = median(others.filter((id) => FLUIDS.includes(id)).map((id) => first[id]!));
  const [odd] = air.toSorted((a, b) => Math.abs(first[b]! - fluidC) - Math.abs(first[a]! - fluidC));
  return against(
    own,
    others.filter((id) => id !== odd).map((id) => first[id]!),
  );
}

/**
 * What the signal should have read by another sensor of the vehicle: this knows its own night, and the neighbours how far
 * the one stands above the other in vehicles of this kind. Null where they do not know or do not agree.
 */
function placedValue(start: ColdStart, other: SignalId, { signal, facts, classAir, rule }: Asked): number | null {
  const above = classAir.above(facts.vehicle.id, signal, other);
  return above && above.spreadK <= rule.soakClose.agreementK ? start.first[other]! + above.valueC : null;
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
