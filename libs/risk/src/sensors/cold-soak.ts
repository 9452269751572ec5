import type { SignalId } from '@tallybay/decode';
import { countText } from '../figures.js';
import type { AirRow, SensorRule } from '../rules/sensors.js';
import { median } from '../stats/descriptive.js';
import { theilSenSlope } from '../stats/trend.js';
import { type ColdStart, coldStarts, SOAKED } from './cold-starts.js';
import type { SensorContext, SensorFinding } from './sensor-context.js';

const MS_PER_DAY = 86_400_000;
const FLUIDS: readonly SignalId[] = ['coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c'];

/**
 * After a long stop coolant, oil, transmission and intake air are as warm as the air around. The one that stands apart
 * from the middle of the others, who agree among themselves, drifts or is written in another unit. A second fluid among
 * the others proves that the engine was cold. With air alone (the vehicle's own, or its neighbours') a drive that nobody
 * recorded could have warmed the engine, so then every one of several starts must stand apart by more than a stop leaves,
 * and evenly: left-over warmth comes and goes, an offset stays and a drift grows slowly.
 */
export function soakFinding(context: SensorContext): SensorFinding | null {
  const { signal, label, rule, facts } = context;
  if (!SOAKED.includes(signal)) return null;
  const starts = coldStarts(facts, rule).flatMap((start) => {
    const compared = compare(start, context);
    const usable = compared && compared.spread <= rule.soakAgreementK && compared.lowest >= rule.soakLeastAmbientC;
    return usable ? [compared] : [];
  });
  // Against air alone a start counts only when the engine warmed up after it: a recorder that wakes late sees warm engines.
  const counts = ({ reference, warmedK }: Compared) => reference === 'fluid' || warmedK >= rule.air.warmedK;
  const against = (reference: Reference) =>
    starts.filter((start) => start.reference === reference && counts(start)).slice(-rule.soakNewest);
  const apart =
    standApart(against('fluid'), rule) ??
    standApartFromAir(against('air'), rule, rule.air.own) ??
    standApartFromAir(against('class'), rule, rule.air.ofClass);
  if (!apart) return null;
  const typical = median(apart.map(({ difference }) => difference));
  const side = typical > 0 ? 'above' : 'below';
  const others = apart[0]!.reference === 'class' ? 'what others of its class read' : 'the other sensors';
  const text = `${label} read ${Math.abs(typical).toFixed(0)} K ${side} ${others} at ${countText(apart.length, 'cold start')}: drift or a wrong unit.`;
  return { signal, kind: 'cold_start', text };
}

/** What a first value is held against, the surest first. */
type Reference = 'fluid' | 'air' | 'class';

interface Compared {
  startedMs: number;
  soakHours: number;
  /** Own first value less the middle of the others [K]. */
  difference: number;
  /** Between the others [K]. */
  spread: number;
  lowest: number;
  reference: Reference;
  /** Of the signal itself in that drive [K]. */
  warmedK: number;
}

function compare(start: ColdStart, { signal, facts, classAir }: SensorContext): Compared | null {
  const own = start.first[signal];
  if (own === undefined) return null;
  const others = SOAKED.filter((id) => id !== signal && start.first[id] !== undefined);
  const values = others.map((id) => start.first[id]!);
  const common = { ...start, warmedK: start.warmedK[signal]! };
  if (others.length >= 2) {
    const reference = others.some((id) => FLUIDS.includes(id)) ? 'fluid' : 'air';
    const spread = Math.max(...values) - Math.min(...values);
    return { ...common, difference: own - median(values), spread, lowest: Math.min(...values), reference };
  }
  const air = classAir.at(facts.vehicle.id, start.startedMs);
  if (!air) return null;
  const all = [air.valueC, ...values];
  const spread = Math.max(air.spreadK, Math.max(...all) - Math.min(...all));
  return { ...common, difference: own - median(all), spread, lowest: Math.min(...all), reference: 'class' };
}

function standApart(starts: readonly Compared[], rule: SensorRule): Compared[] | null {
  const apart = starts.filter(({ difference }) => Math.abs(difference) > rule.soakDifferenceK);
  const enough =
    apart.length >= rule.soakStarts || apart.some(({ difference }) => Math.abs(difference) > rule.soakSureK);
  return enough && apart.length * 2 >= starts.length ? apart : null;
}

function standApartFromAir(starts: readonly Compared[], { air }: SensorRule, row: AirRow): Compared[] | null {
  if (starts.length < air.starts) return null;
  const beyond = starts.every(({ difference, soakHours }) => {
    const left = air.leftOver.fromK * Math.exp(-soakHours / air.leftOver.hours);
    return difference - left > row.differenceK || -difference > row.differenceK;
  });
  const oneSide = new Set(starts.map(({ difference }) => Math.sign(difference))).size === 1;
  return beyond && oneSide && isEven(starts, air.slopeKPerDay, row.wanderK) ? [...starts] : null;
}

/** The differences lie along a line that rises or falls no faster than a drift. */
function isEven(starts: readonly Compared[], mostKPerDay: number, wanderK: number): boolean {
  const points = starts.map(({ startedMs, difference }) => ({ x: startedMs / MS_PER_DAY, y: difference }));
  const slope = theilSenSlope(points) ?? 0;
  const rests = points.map(({ x, y }) => y - slope * (x - points[0]!.x));
  return Math.abs(slope) <= mostKPerDay && Math.max(...rests) - Math.min(...rests) <= wanderK;
}
