import type { SignalFact, VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import { CEILING_SECONDS } from '../rules/sensors.js';
import { HEAT_SIGNALS, type HeatSignal, stagesFor } from '../rules/stages.js';
import { type ClassAir, NO_CLASS_AIR } from './class-air.js';
import { soakFinding } from './cold-soak.js';
import type { SensorContext, SensorFinding } from './sensor-context.js';

const CHECKS: readonly ((context: SensorContext) => SensorFinding | null)[] = [
  stuck,
  outOfRange,
  jumping,
  impossible,
  neverWarm,
  soakFinding,
  disagreesWithOil,
];

/**
 * At most one finding a signal: the first check that fails, most certain first.
 * @param air what the vehicle's neighbours say of the air; without it a lone sensor cannot be held against anything
 */
export function sensorFindings(
  facts: VehicleFacts,
  rules: Pick<RuleSet, 'sensors' | 'heat' | 'stages'>,
  air: ClassAir = NO_CLASS_AIR,
): SensorFinding[] {
  const contexts = HEAT_SIGNALS.map((signal): SensorContext => {
    const stages = stagesFor(rules.stages, signal, facts.vehicle);
    return {
      ...{
        signal,
        facts,
        classAir: air,
        rule: rules.sensors,
        drives: facts.drives,
        label: rules.heat.signals[signal].label,
      },
      stats: facts.signals.filter((row) => row.signal === signal),
      dwell: facts.dwell.filter((row) => row.signal === signal),
      lowestStageC: stages[0]?.valueC ?? Number.POSITIVE_INFINITY,
    };
  });
  const findings = new Map<HeatSignal, SensorFinding>();
  for (const context of contexts)
    for (const check of CHECKS) {
      const finding = check(context);
      if (finding && !findings.has(context.signal)) findings.set(context.signal, finding);
    }
  for (const finding of sameRecorder(contexts, findings)) findings.set(finding.signal, finding);
  return HEAT_SIGNALS.flatMap((signal) => findings.get(signal) ?? []);
}

/** A recorder that writes one temperature in °F under a °C header writes them all so: the others look high but possible. */
function sameRecorder(
  contexts: readonly SensorContext[],
  found: ReadonlyMap<HeatSignal, SensorFinding>,
): SensorFinding[] {
  const wrong = contexts.find(
    ({ signal, stats }) => found.get(signal)?.kind === 'impossible' && fahrenheitWouldFit(stats),
  );
  if (!wrong) return [];
  return contexts
    .filter(({ signal, stats }) => !found.has(signal) && stats.some((row) => row.valid > 0))
    .map(({ signal, label }): SensorFinding => {
      const text = `${label} comes from the recorder that writes ${wrong.label.toLowerCase()} in another unit than it says.`;
      return { signal, kind: 'wrong_unit', text };
    });
}

function stuck({ stats, rule, label, signal, lowestStageC }: SensorContext): SensorFinding | null {
  const valued = stats.filter((row) => row.valid > 0 && row.min !== null && row.max !== null);
  const flat = valued.filter((row) => row.max! - row.min! <= rule.stuck.rangeK);
  const low = Math.min(...flat.map((row) => row.min!));
  const high = Math.max(...flat.map((row) => row.max!));
  const flatSeconds = total(flat, 'seconds');
  if (flat.length >= rule.stuck.drives && flatSeconds >= rule.stuck.seconds && high - low <= rule.stuck.rangeK) {
    const text = `${label} read ${one(low)} °C and nothing else in ${flat.length} drives (${one(flatSeconds / 60)} min): the sensor is stuck.`;
    return { signal, kind: 'stuck', text };
  }
  const hot = flat.find((row) => row.min! >= lowestStageC && row.seconds >= rule.stuckHotSeconds);
  if (hot) {
    const text = `${label} read ${one(hot.min!)} °C and nothing else for ${one(hot.seconds / 60)} min of a drive: the sensor is stuck.`;
    return { signal, kind: 'stuck', text };
  }
  const seconds = total(valued, 'seconds');
  // Seconds that decode set aside as stuck may or may not be among the counted ones: the larger base is the safe one.
  const still = total(valued, 'stuckSeconds');
  if (still < rule.longDriveSeconds || still < rule.stuckShare * Math.max(seconds, still)) return null;
  return { signal, kind: 'stuck', text: `${label} stood still for ${one(still / 60)} min while the engine worked.` };
}

function outOfRange({ stats, rule, label, signal }: SensorContext): SensorFinding | null {
  const out = total(stats, 'outOfRange');
  const all = out + total(stats, 'valid');
  if (out === 0 || out < rule.outOfRangeShare * all) return null;
  const text = `${label}: ${percent(out / all)} of the values are outside the possible range (open or shorted circuit, or a wrong unit).`;
  return { signal, kind: 'out_of_range', text };
}

function jumping({ stats, rule, label, signal }: SensorContext): SensorFinding | null {
  const jumps = total(stats, 'jump');
  const all = jumps + total(stats, 'valid');
  if (jumps < rule.jumpsAtLeast || jumps < rule.jumpShare * all) return null;
  const text = `${label} jumped ${jumps} times (${percent(jumps / all)} of the values) faster than a fluid can.`;
  return { signal, kind: 'jumping', text };
}

function impossible({ dwell, rule, label, signal, stats }: SensorContext): SensorFinding | null {
  const { ceilingC, why } = rule.signals[signal];
  const above = dwell.filter((row) => row.low >= ceilingC || row.min >= ceilingC);
  const seconds = above.reduce((sum, row) => sum + row.seconds, 0);
  if (seconds < CEILING_SECONDS) return null;
  const peak = Math.max(...above.map((row) => row.max));
  const unit = stats.find((row) => row.sourceUnit !== null)?.sourceUnit;
  const suspicion = fahrenheitWouldFit(stats)
    ? `; as °F the values would be plausible${unit ? ` (unit read: ${unit})` : ''}`
    : '';
  const text = `${label} at or above ${ceilingC} °C for ${one(seconds / 60)} min, up to ${one(peak)} °C: ${why}${suspicion}.`;
  return { signal, kind: 'impossible', text };
}

/** Read as °F, the week's values would lie where a warm engine's do. */
function fahrenheitWouldFit(stats: readonly SignalFact[]): boolean {
  const highest = Math.max(...stats.map((row) => row.max ?? Number.NEGATIVE_INFINITY));
  const asCelsius = ((highest - 32) * 5) / 9;
  return asCelsius >= 60 && asCelsius <= 125;
}

function neverWarm({ stats, rule, label, signal }: SensorContext): SensorFinding | null {
  const { warmAtLeastC } = rule.signals[signal];
  const long = stats.filter((row) => row.seconds >= rule.longDriveSeconds && row.max !== null);
  if (warmAtLeastC === null || long.length === 0) return null;
  const highest = Math.max(...long.map((row) => row.max!));
  if (highest >= warmAtLeastC) return null;
  const text = `${label} never passed ${one(highest)} °C in ${long.length} long drives: wrong unit or an open circuit.`;
  return { signal, kind: 'never_warm', text };
}

function disagreesWithOil({ signal, stats, rule, label, facts }: SensorContext): SensorFinding | null {
  if (signal !== 'coolant_temp_c') return null;
  const oil = facts.signals.filter((row) => row.signal === 'engine_oil_temp_c' && row.mean !== null);
  const gaps = stats.flatMap((row) => {
    const beside = oil.find((other) => other.driveId === row.driveId);
    return beside && row.mean !== null && row.seconds >= rule.longDriveSeconds ? [row.mean - beside.mean!] : [];
  });
  if (gaps.length < 2 || Math.min(...gaps) < rule.coolantAboveOilK) return null;
  const text = `${label} ran ${one(Math.min(...gaps))} K and more above engine oil in ${gaps.length} long drives: one of the two sensors is wrong.`;
  return { signal, kind: 'disagrees', text };
}

const total = (
  rows: readonly SignalFact[],
  column: 'seconds' | 'stuckSeconds' | 'outOfRange' | 'valid' | 'jump',
): number => rows.reduce((sum, row) => sum + row[column], 0);

const one = (value: number): string => value.toFixed(1);
const percent = (share: number): string => `${Math.round(share * 100)} %`;
