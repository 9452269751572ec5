import { CONFIDENCE_LEVELS, type Confidence } from '@tallybay/contracts';
import { countText, rounded } from '../figures.js';
import type { ConfidenceRule, Levels } from '../rules/confidence.js';

type Level = Confidence['level'];
type Part = Confidence['parts'][number];

export interface ConfidenceFacts {
  /** Share of the components that had data, 0..1. */
  coverage: number;
  engineHours: number;
  classSize: number;
  /** Null where heat is not scored: coverage says so already. */
  scoreWidth: number | null;
}

/** How far a row is to be trusted: as far as the weakest of what stands behind it. */
export function confidenceOf(facts: ConfidenceFacts, rule: ConfidenceRule): Confidence {
  const parts: Part[] = [
    { name: 'coverage', value: rounded(facts.coverage, 4), level: atLeast(facts.coverage, rule.coverage) },
    { name: 'engine_hours', value: rounded(facts.engineHours, 4), level: atLeast(facts.engineHours, rule.engineHours) },
    { name: 'class_size', value: facts.classSize, level: atLeast(facts.classSize, rule.classSize) },
  ];
  if (facts.scoreWidth !== null) {
    // Negated, a width "at most" is a width "at least".
    const levels = { high: -rule.scoreWidth.high, medium: -rule.scoreWidth.medium };
    const value = rounded(facts.scoreWidth, 4);
    parts.push({ name: 'score_width', value, level: atLeast(-facts.scoreWidth, levels) });
  }
  const level = CONFIDENCE_LEVELS.find((name) => parts.some((part) => part.level === name)) ?? 'high';
  const weak = level === 'high' ? [] : parts.filter((part) => part.level === level).map(partText);
  const why = weak.length > 0 ? `Confidence is ${level}: ${weak.join('; ')}.` : 'Confidence is high.';
  return { level, parts, why };
}

const atLeast = (value: number, { high, medium }: Levels): Level =>
  value >= high ? 'high' : value >= medium ? 'medium' : 'low';

const TEXTS: Record<Part['name'], (value: number) => string> = {
  coverage: (value) => `${Math.round(value * 3)} of 3 components had data`,
  engine_hours: (value) => `${value.toFixed(1)} engine hours`,
  class_size: (value) => `${countText(value, 'vehicle')} of its class to compare with`,
  score_width: (value) => `so few hours or so much scatter that the heat score is only known to ${value.toFixed(2)}`,
};

const partText = ({ name, value }: Part): string => TEXTS[name](value);
