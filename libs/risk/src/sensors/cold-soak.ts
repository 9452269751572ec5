import type { SignalId } from '@tallybay/decode';
import type { DriveFact, VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import { median } from '../stats/descriptive.js';
import type { SensorContext, SensorFinding } from './findings.js';

const MS_PER_HOUR = 3_600_000;

/** Sensors that read the air's temperature after a long stop. Exhaust and charge air are near it too but cool or heat at once. */
const SOAKED: readonly SignalId[] = [
  'coolant_temp_c',
  'engine_oil_temp_c',
  'trans_fluid_temp_c',
  'intake_air_temp_c',
  'ambient_temp_c',
];

const FLUIDS: readonly SignalId[] = ['coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c'];

/**
 * After a long stop coolant, oil, transmission and intake air are as warm as the air around. The one that stands apart
 * from the middle of the others, who agree among themselves, drifts or is written in another unit. A second fluid among
 * the others proves that the engine was cold. With air alone a drive that nobody recorded could have warmed the engine,
 * so then it must stand apart by about the same in every one of several starts: left-over warmth varies, an offset does not.
 */
export function soakFinding({ signal, label, rule, facts }: SensorContext): SensorFinding | null {
  if (!SOAKED.includes(signal)) return null;
  const starts = coldStarts(facts, rule.soakHours * MS_PER_HOUR).flatMap((drive) => {
    const start = compareAtStart(facts, drive, signal);
    const usable = start && start.spread <= rule.soakAgreementK && start.lowest >= rule.soakLeastAmbientC;
    return usable ? [start] : [];
  });
  const proven = starts.filter(({ withFluid }) => withFluid).map(({ difference }) => difference);
  const airOnly = starts.filter(({ withFluid }) => !withFluid).map(({ difference }) => difference);
  const apart = standApart(proven, rule) ?? standApartFromAir(airOnly, rule);
  if (!apart) return null;
  const typical = median(apart);
  const side = typical > 0 ? 'above' : 'below';
  const text = `${label} read ${Math.abs(typical).toFixed(0)} K ${side} the other sensors at ${apart.length} cold starts: drift or a wrong unit.`;
  return { signal, kind: 'cold_start', text };
}

function standApart(differences: readonly number[], rule: SensorRule): number[] | null {
  const apart = differences.filter((difference) => Math.abs(difference) > rule.soakDifferenceK);
  return apart.length >= rule.soakStarts && apart.length * 2 >= differences.length ? apart : null;
}

function standApartFromAir(differences: readonly number[], { airOnly }: SensorRule): number[] | null {
  if (differences.length < airOnly.starts) return null;
  const spread = Math.max(...differences) - Math.min(...differences);
  const nearest = Math.min(...differences.map(Math.abs));
  return nearest > airOnly.differenceK && spread <= airOnly.spreadK ? [...differences] : null;
}

interface ColdStart {
  /** Own first value less the middle of the others [K]. */
  difference: number;
  /** Between the others [K]. */
  spread: number;
  lowest: number;
  withFluid: boolean;
}

function compareAtStart(facts: VehicleFacts, drive: DriveFact, signal: SignalId): ColdStart | null {
  const own = firstValue(facts, drive, signal);
  const others = SOAKED.filter((id) => id !== signal).flatMap((id) => {
    const value = firstValue(facts, drive, id);
    return value === null ? [] : [{ id, value }];
  });
  if (own === null || others.length < 2) return null;
  const values = others.map(({ value }) => value);
  return {
    difference: own - median(values),
    spread: Math.max(...values) - Math.min(...values),
    lowest: Math.min(...values),
    withFluid: others.some(({ id }) => FLUIDS.includes(id)),
  };
}

function coldStarts(facts: VehicleFacts, soakMs: number): DriveFact[] {
  const ends = [...facts.earlierDriveEndsMs, ...facts.drives.map((drive) => drive.endedMs)];
  return facts.drives.filter((drive) => {
    const before = ends.filter((end) => end <= drive.startedMs);
    return before.length > 0 && drive.startedMs - Math.max(...before) >= soakMs;
  });
}

function firstValue(facts: VehicleFacts, drive: DriveFact, signal: SignalId): number | null {
  return facts.signals.find((row) => row.driveId === drive.driveId && row.signal === signal)?.first ?? null;
}
