import type { Exclusion } from '@tallybay/contracts';
import { CYCLE_RULE, type CycleRule } from '../thermal/cycles.js';
import { AGEING_ROWS, type AgeingRow } from './ageing.js';
import { CODES_RULE, type CodesRule } from './codes.js';
import { CONFIDENCE_RULE, type ConfidenceRule } from './confidence.js';
import { HEAT_RULE, type HeatRule } from './heat.js';
import { PROGRAMMES, type Programme, READINESS_SCORING, type ReadinessScoring } from './readiness.js';
import { SENSOR_RULE, type SensorRule } from './sensors.js';
import { SEVERITY_RULE, type SeverityRule } from './severities.js';
import { STAGE_ROWS, type StageRow } from './stages.js';
import { WARNING_RULE, type WarningRule } from './warning.js';

/** Every table a ranking depends on. Plain JSON: an edited copy is a new rule set with its own version. */
export interface RuleSet {
  name: string;
  /** Date of the tables, `YYYY-MM-DD`. */
  date: string;
  stages: readonly StageRow[];
  heat: HeatRule;
  ageing: readonly AgeingRow[];
  cycles: CycleRule;
  sensors: SensorRule;
  warning: WarningRule;
  severities: SeverityRule;
  codes: CodesRule;
  programmes: readonly Programme[];
  readiness: ReadinessScoring;
  /** score = 1 - product of (1 - weight x component). */
  weights: { heat: number; codes: number; readiness: number };
  /** What a component without data counts as: more than a healthy one, less than any finding. */
  assumedWhenUnknown: { heat: number; codes: number; readiness: number };
  confidence: ConfidenceRule;
  /** What a manager leaves out for a while. */
  exclusions: readonly Exclusion[];
}

export const DEFAULT_RULES: RuleSet = {
  name: 'common-practice',
  date: '2026-11-28',
  stages: STAGE_ROWS,
  heat: HEAT_RULE,
  ageing: AGEING_ROWS,
  cycles: CYCLE_RULE,
  sensors: SENSOR_RULE,
  warning: WARNING_RULE,
  severities: SEVERITY_RULE,
  codes: CODES_RULE,
  programmes: PROGRAMMES,
  readiness: READINESS_SCORING,
  weights: { heat: 0.9, codes: 0.7, readiness: 0.4 },
  assumedWhenUnknown: { heat: 0.05, codes: 0.05, readiness: 0.05 },
  confidence: CONFIDENCE_RULE,
  exclusions: [],
};

/** `common-practice 2026-11-25 9f3a…`: name, date and a checksum of every number in the tables. */
export const ruleVersion = (rules: RuleSet): string => `${rules.name} ${rules.date} ${fnv1a64(canonicalJson(rules))}`;

/** JSON with keys in order, so that equal tables have equal text. */
export function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_key, item: unknown) =>
    item !== null && typeof item === 'object' && !Array.isArray(item)
      ? Object.fromEntries(Object.entries(item).sort(([a], [b]) => (a < b ? -1 : 1)))
      : item,
  );
}

/** FNV-1a, 64 bits: tells versions apart, not meant against forgery. */
function fnv1a64(text: string): string {
  let hash = 0xcbf29ce484222325n;
  for (const byte of new TextEncoder().encode(text)) hash = BigInt.asUintN(64, (hash ^ BigInt(byte)) * 0x100000001b3n);
  return hash.toString(16).padStart(16, '0');
}
