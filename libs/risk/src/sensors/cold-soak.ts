import type { SignalId } from '@tallybay/decode';
import type { DriveFact, EarlierDriveFact, VehicleFacts } from '../facts.js';
import { countText } from '../figures.js';
import type { SensorRule } from '../rules/sensors.js';
import { median } from '../stats/descriptive.js';
import type { SensorContext, SensorFinding } from './sensor-context.js';

const MS_PER_HOUR = 3_600_000;
const MS_PER_DAY = 24 * MS_PER_HOUR;

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
  const starts = coldStarts(facts, rule).flatMap((drive) => {
    const start = compareAtStart(drive, signal);
    const usable = start && start.spread <= rule.soakAgreementK && start.lowest >= rule.soakLeastAmbientC;
    return usable ? [start] : [];
  });
  const differences = (withFluid: boolean) =>
    starts
      .filter((start) => start.withFluid === withFluid)
      .map(({ difference }) => difference)
      .slice(-rule.soakNewest);
  const apart = standApart(differences(true), rule) ?? standApartFromAir(differences(false), rule);
  if (!apart) return null;
  const typical = median(apart);
  const side = typical > 0 ? 'above' : 'below';
  const text = `${label} read ${Math.abs(typical).toFixed(0)} K ${side} the other sensors at ${countText(apart.length, 'cold start')}: drift or a wrong unit.`;
  return { signal, kind: 'cold_start', text };
}

function standApart(differences: readonly number[], rule: SensorRule): number[] | null {
  const apart = differences.filter((difference) => Math.abs(difference) > rule.soakDifferenceK);
  const enough = apart.length >= rule.soakStarts || apart.some((difference) => Math.abs(difference) > rule.soakSureK);
  return enough && apart.length * 2 >= differences.length ? apart : null;
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

function compareAtStart(drive: StartedDrive, signal: SignalId): ColdStart | null {
  const own = drive.first[signal];
  const others = SOAKED.flatMap((id) => {
    const value = drive.first[id];
    return id === signal || value === undefined ? [] : [{ id, value }];
  });
  if (own === undefined || others.length < 2) return null;
  const values = others.map(({ value }) => value);
  return {
    difference: own - median(values),
    spread: Math.max(...values) - Math.min(...values),
    lowest: Math.min(...values),
    withFluid: others.some(({ id }) => FLUIDS.includes(id)),
  };
}

interface StartedDrive {
  startedMs: number;
  endedMs: number;
  first: Partial<Record<SignalId, number>>;
}

/** Oldest first. */
function coldStarts(facts: VehicleFacts, rule: SensorRule): StartedDrive[] {
  const fromMs = facts.toMs - rule.soakLookBackDays * MS_PER_DAY;
  const drives = [
    ...facts.earlierDrives.map(earlierStart),
    ...facts.drives.map((drive) => weekStart(facts, drive)),
  ].sort((a, b) => a.startedMs - b.startedMs);
  let lastEndMs = Number.POSITIVE_INFINITY;
  return drives.filter((drive) => {
    const cold = drive.startedMs - lastEndMs >= rule.soakHours * MS_PER_HOUR;
    lastEndMs = lastEndMs === Number.POSITIVE_INFINITY ? drive.endedMs : Math.max(lastEndMs, drive.endedMs);
    return cold && drive.startedMs >= fromMs;
  });
}

const earlierStart = (drive: EarlierDriveFact): StartedDrive => ({
  ...{ startedMs: drive.startedMs, endedMs: drive.endedMs },
  first: Object.fromEntries(SOAKED.flatMap((id) => (drive.signals[id] ? [[id, drive.signals[id].first]] : []))),
});

function weekStart(facts: VehicleFacts, drive: DriveFact): StartedDrive {
  const rows = facts.signals.filter((row) => row.driveId === drive.driveId && row.first !== null);
  return {
    ...{ startedMs: drive.startedMs, endedMs: drive.endedMs },
    first: Object.fromEntries(rows.map((row) => [row.signal, row.first!])),
  };
}
