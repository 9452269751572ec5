import { type CodeSeverity, describeCode } from '@tallybay/decode';

/** How bad a code is for the vehicle, 0..1. */
export interface SeverityRule {
  /** Value of each level of the code table. Judgement, no source. */
  levels: Record<CodeSeverity, number>;
  /** Where this fleet sees it otherwise; the first row that fits counts, before the level. */
  overrides: readonly SeverityRow[];
}

export interface SeverityRow {
  /** One code, a range `P0480-P0485`, a family `P07xx`; for J1939 `SPN 110 FMI 0`, `SPN 110` or `FMI 19`. */
  match: string;
  severity: number;
  source: string;
}

export const SEVERITY_RULE: SeverityRule = {
  levels: { critical: 1, high: 0.7, moderate: 0.4, low: 0.15 },
  overrides: [
    { match: 'P0300-P0312', severity: 0.8, source: 'judgement: misfire ruins catalysts within days' },
    { match: 'Bxxxx', severity: 0.15, source: 'judgement: body codes do not stop a vehicle' },
  ],
};

/** Severity and words of one code, of any form; text that is no code counts as `moderate`. */
export function severityOf(rule: SeverityRule, code: string): { severity: number; text: string } {
  const description = describeCode(code);
  const row = rule.overrides.find(({ match }) => fits(match, description.code));
  return { severity: row?.severity ?? rule.levels[description.severity], text: description.text };
}

function fits(match: string, code: string): boolean {
  if (code === match.toUpperCase()) return true;
  if (match.startsWith('SPN')) return !match.includes('FMI') && code.startsWith(`${match} `);
  if (match.startsWith('FMI')) return code.startsWith('SPN') && code.endsWith(` ${match}`);
  const [from, to] = match.split('-');
  if (to !== undefined) return code.length === from!.length && code >= from! && code <= to;
  const family = match.replace(/x+$/, '');
  return family !== match && code.length === match.length && code.startsWith(family);
}
