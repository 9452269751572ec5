import { countText } from '../figures.js';
import type { AirRow, SensorRule } from '../rules/sensors.js';
import { median } from '../stats/descriptive.js';
import { theilSenSlope } from '../stats/trend.js';
import { type Compared, comparedStarts, leftOverK, type Reference } from './cold-compare.js';
import { coldStarts, SOAKED } from './cold-starts.js';
import type { SensorContext, SensorFinding } from './sensor-context.js';

const MS_PER_DAY = 86_400_000;

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
  const starts = comparedStarts(coldStarts(facts, rule), context);
  const against = (reference: Reference) =>
    starts.filter((start) => start.reference === reference).slice(-rule.soakNewest);
  const apart =
    standApart(against('fluid'), rule) ??
    standApartFromAir(against('air'), rule, rule.air.own) ??
    standApartFromAir(against('shared'), rule, rule.air.shared) ??
    standApartFromAir(against('class'), rule, rule.air.ofClass);
  if (!apart) return null;
  const typical = median(apart.map(({ difference }) => difference));
  const side = typical > 0 ? 'above' : 'below';
  const others = ['shared', 'class'].includes(apart[0]!.reference)
    ? 'what others of its class read'
    : 'the other sensors';
  const text = `${label} read ${Math.abs(typical).toFixed(0)} K ${side} ${others} at ${countText(apart.length, 'cold start')}: drift or a wrong unit.`;
  return { signal, kind: 'cold_start', text };
}

function standApart(starts: readonly Compared[], rule: SensorRule): Compared[] | null {
  const { soakClose, soakDifferenceK } = rule;
  const apart = starts.filter(
    ({ difference, spread }) =>
      Math.abs(difference) > (spread <= soakClose.agreementK ? soakClose.differenceK : soakDifferenceK),
  );
  const enough =
    apart.length >= rule.soakStarts || apart.some(({ difference }) => Math.abs(difference) > rule.soakSureK);
  return enough && apart.length * 2 >= starts.length ? apart : null;
}

function standApartFromAir(starts: readonly Compared[], { air }: SensorRule, row: AirRow): Compared[] | null {
  if (starts.length < air.starts) return null;
  const beyond = starts.every(
    (start) => start.difference - leftOverK(start, air) > row.differenceK || -start.difference > row.differenceK,
  );
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
