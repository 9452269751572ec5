import type { Reason } from '@tallybay/contracts';
import { rounded } from '../figures.js';
import type { WarningRule } from '../rules/warning.js';
import type { EarlyWarning } from '../warning/early-warning.js';
import type { ComponentResult } from './heat-component.js';

/**
 * A heat component with its early warnings: they add to the score as 1 - product of (1 - s), up to `mostScore` each, so
 * that a warning stands above healthy vehicles and below those that crossed a limit for long. A component without data
 * stays without: a warning is no measurement of heat.
 */
export function withWarnings(
  heat: ComponentResult,
  warnings: readonly EarlyWarning[],
  rule: WarningRule,
): ComponentResult {
  const inputs = { ...heat.inputs, warnings: warnings.map(warningInputs) };
  const { score } = heat.component;
  if (score === null || warnings.length === 0) return { ...heat, inputs };
  const parts = warnings.map((warning) => warningScore(warning, rule));
  const joined = 1 - parts.reduce((left, part) => left * (1 - part), 1 - score);
  const reasons = warnings.map((warning, index): Reason => {
    const evidence = warning.driveIds.map((id) => ({ kind: 'drive' as const, id }));
    return { component: 'heat', text: warning.text, weight: rounded(parts[index]!, 6), evidence };
  });
  return {
    component: { ...heat.component, score: rounded(joined, 6) },
    reasons: [...heat.reasons, ...reasons],
    inputs,
  };
}

/** Half of `mostScore` at the threshold, all of it at twice the threshold. */
const warningScore = (warning: EarlyWarning, rule: WarningRule): number =>
  rule.mostScore * Math.min(1, warning.excessK / warning.thresholdK / 2);

const warningInputs = ({ signal, excessK, thresholdK, recentDrives }: EarlyWarning) => ({
  ...{ signal, recentDrives, excessK: rounded(excessK, 3), thresholdK: rounded(thresholdK, 3) },
});
