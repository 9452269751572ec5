import type { SignalId } from '@tallybay/decode';
import type { DriveFact, VehicleFacts } from '../facts.js';
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

/**
 * After a long stop coolant, oil, transmission and intake air are as warm as the air around. The one that stands apart
 * from the middle of the others, who agree among themselves, drifts or is written in another unit. Needs at least two
 * others of which one is a fluid: only a fluid proves that the engine was cold (a drive may not have been recorded).
 */
export function soakFinding({ signal, label, rule, facts }: SensorContext): SensorFinding | null {
  if (!SOAKED.includes(signal)) return null;
  const differences: number[] = [];
  for (const drive of coldStarts(facts, rule.soakHours * MS_PER_HOUR)) {
    const own = firstValue(facts, drive, signal);
    const others = SOAKED.filter((id) => id !== signal).flatMap((id) => {
      const value = firstValue(facts, drive, id);
      return value === null ? [] : [{ id, value }];
    });
    const values = others.map(({ value }) => value);
    const hasFluid = others.some(
      ({ id }) => id === 'coolant_temp_c' || id === 'engine_oil_temp_c' || id === 'trans_fluid_temp_c',
    );
    if (own === null || values.length < 2 || !hasFluid) continue;
    if (Math.max(...values) - Math.min(...values) > rule.soakAgreementK) continue;
    if (Math.min(...values) < rule.soakLeastAmbientC) continue;
    differences.push(own - median(values));
  }
  const apart = differences.filter((difference) => Math.abs(difference) > rule.soakDifferenceK);
  if (apart.length < rule.soakStarts || apart.length * 2 < differences.length) return null;
  const typical = median(apart);
  const text = `${label} read ${Math.abs(typical).toFixed(0)} K ${typical > 0 ? 'above' : 'below'} the other sensors at ${apart.length} cold starts: drift or a wrong unit.`;
  return { signal, kind: 'cold_start', text };
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
