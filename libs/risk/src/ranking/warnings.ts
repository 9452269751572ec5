import type { Reason } from '@tallybay/contracts';
import { rounded } from '../figures.js';
import type { WarningRule } from '../rules/warning.js';
import type { EarlyWarning, Evidence, Leaning } from '../warning/early-warning.js';
import type { ComponentResult } from './heat-component.js';

/**
 * A heat component with its early warnings: they add to the score as 1 - product of (1 - s), up to `mostScore` each, so
 * that a warning stands above healthy vehicles and below those that crossed a limit for long. Evidence too weak to warn
 * adds a little, to put the rest in order. A component without data stays without: a warning is no measurement of heat.
 * Where the week was only too short, a warning from the drives of the last days stands all the same.
 */
export function withWarnings(
  heat: ComponentResult,
  evidence: Evidence | undefined,
  rule: WarningRule,
  isShortWeek: boolean,
): ComponentResult {
  const { warnings = [], leaning = null } = evidence ?? {};
  const inputs = {
    ...heat.inputs,
    warnings: warnings.map(warningInputs),
    leaning: leaning && { ...warningInputs(leaning.strongest), errors: rounded(leaning.errors, 3) },
  };
  const { state, note } = heat.component;
  const standsAlone = isShortWeek && state === 'no_data' && warnings.length > 0;
  const score = heat.component.score ?? (standsAlone ? 0 : null);
  if (score === null) return { ...heat, inputs };
  const parts = warnings.map((warning) => warningScore(warning, rule));
  const little = leaning ? leaningScore(leaning, rule) : 0;
  const joined = raised(1 - parts.reduce((left, part) => left * (1 - part), 1 - score), little, rule);
  const reasons = warnings.map((warning, index): Reason => reasonFrom(warning.text, parts[index]!, warning.driveIds));
  // Said only where it is more than the scatter that every second vehicle shows, and nothing that was measured says more.
  const { mostScore } = rule.leaning;
  if (leaning && warnings.length === 0 && score < mostScore && little >= mostScore / 2)
    reasons.push(reasonFrom(leaning.text, little, leaning.strongest.driveIds));
  return {
    ...heat,
    component: {
      ...heat.component,
      score: rounded(joined, 6),
      ...(standsAlone ? ({ state: 'ok', note: `${note} Judged by its last days’ drives.` } as const) : {}),
    },
    reasons: [...heat.reasons, ...reasons],
    inputs,
  };
}

const reasonFrom = (text: string, part: number, driveIds: readonly string[]): Reason => ({
  ...({ component: 'heat', text, weight: rounded(part, 6) } as const),
  evidence: driveIds.map((id) => ({ kind: 'drive', id })),
});

/** Half of `mostScore` at the threshold, all of it at twice the threshold. */
const warningScore = (warning: EarlyWarning, rule: WarningRule): number =>
  rule.mostScore * Math.min(1, warning.excessK / warning.thresholdK / 2);

/** Weak evidence lifts a low score toward `mostScore` and never past it, whatever else the score is made of. */
const raised = (score: number, little: number, { leaning: { mostScore } }: WarningRule): number =>
  score >= mostScore ? score : score + (mostScore - score) * (little / mostScore);

function leaningScore({ errors }: Leaning, { leaning: { fromErrors, fullErrors, mostScore } }: WarningRule): number {
  return mostScore * Math.min(1, Math.max(0, (errors - fromErrors) / (fullErrors - fromErrors)));
}

const warningInputs = ({ signal, excessK, thresholdK, recentDrives }: Omit<EarlyWarning, 'text'>) => ({
  ...{ signal, recentDrives, excessK: rounded(excessK, 3), thresholdK: rounded(thresholdK, 3) },
});
