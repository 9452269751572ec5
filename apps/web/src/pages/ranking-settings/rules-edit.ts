import type { Exclusion } from '@tallybay/contracts';

export type Component = 'heat' | 'codes' | 'readiness';
export const COMPONENTS: readonly Component[] = ['heat', 'codes', 'readiness'];

/** Weights as typed, so that a half-typed number stays on screen. */
export type WeightTexts = Record<Component, string>;

export const textsOf = (weights: Record<Component, number>): WeightTexts => ({
  heat: String(weights.heat),
  codes: String(weights.codes),
  readiness: String(weights.readiness),
});

/** Null where one of them is no number from 0 to 1. */
export function weightsFrom(texts: WeightTexts): Record<Component, number> | null {
  const weights = {
    heat: weightFrom(texts.heat),
    codes: weightFrom(texts.codes),
    readiness: weightFrom(texts.readiness),
  };
  return Object.values(weights).some((weight) => weight === null) ? null : (weights as Record<Component, number>);
}

export function weightFrom(text: string): number | null {
  const value = Number(text.replace(',', '.'));
  return text.trim() !== '' && value >= 0 && value <= 1 ? value : null;
}

export interface ExclusionDraft {
  vehicle: string;
  /** '' = the whole vehicle. */
  component: Component | '';
  reason: string;
  from: string;
  until: string;
}

/** Null while something is missing or does not fit. */
export function exclusionFrom(draft: ExclusionDraft, vehicles: readonly string[]): Exclusion | null {
  const { vehicle, component, from, until } = draft;
  const reason = draft.reason.trim();
  if (!vehicles.includes(vehicle) || reason === '' || from === '' || until < from) return null;
  return { vehicle, component: component === '' ? null : component, reason, from, until };
}

/** Today by the reader's clock, as a date field writes it. */
export function today(nowMs: number): string {
  const now = new Date(nowMs);
  const two = (part: number) => String(part).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

export const sameDocument = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);
