import type { Inspection, InspectionKind, InspectionReason, PlanRules } from '@tallybay/contracts';
import { addDays, daysBetween } from './dates.js';
import type { Finding } from './findings.js';

/** An inspection as the findings ask for it; at most one a vehicle and kind. */
export type ProposedInspection = Pick<
  Inspection,
  | 'vehicle'
  | 'kind'
  | 'label'
  | 'why'
  | 'minutes'
  | 'skills'
  | 'features'
  | 'earliest'
  | 'latest'
  | 'costPerDay'
  | 'latePerDay'
>;

export interface ProposeInput {
  today: string;
  kinds: readonly InspectionKind[];
  rules: PlanRules;
  findings: readonly Finding[];
  /** What was done or declined: `vehicle\nkind` -> day. It is not asked for again by what was known then. */
  settled?: ReadonlyMap<string, { day: string; by: 'done' | 'declined' }>;
}

/** What was declined is left alone so long, unless its due date comes first. */
const DECLINED_DAYS = 28;
/** After a repair the old week's ranking still shows the old findings: it is not asked for again so long. */
const DONE_DAYS = 7;

/** Findings to inspections by the table of kinds: a finding goes to the kinds that name its source (and text). */
export function proposeInspections({ today, kinds, rules, findings, settled }: ProposeInput): ProposedInspection[] {
  const found = new Map<string, { kind: InspectionKind; findings: Finding[] }>();
  for (const finding of findings) {
    if (finding.weight < rules.leastWeight) continue;
    for (const kind of kindsFor(kinds, finding)) {
      const key = `${finding.vehicle}\n${kind.id}`;
      const row = found.get(key) ?? { kind, findings: [] };
      row.findings.push(finding);
      found.set(key, row);
    }
  }
  return [...found]
    .filter(([key, { findings: mine }]) => !isSettled(settled?.get(key), mine, today))
    .map(([key, { kind, findings: mine }]) => inspectionOf(key.split('\n')[0]!, kind, mine, today))
    .sort((a, b) => (a.vehicle < b.vehicle ? -1 : a.vehicle > b.vehicle ? 1 : a.kind < b.kind ? -1 : 1));
}

/** The kinds that name something in the finding; only where there is none, those that take all of its source. */
function kindsFor(kinds: readonly InspectionKind[], finding: Finding): InspectionKind[] {
  if (finding.kind !== undefined) return kinds.filter(({ id }) => id === finding.kind);
  const text = finding.text.toLowerCase();
  const asked = kinds.flatMap((kind) =>
    kind.askedBy
      .filter(
        ({ source, match }) => source === finding.source && (match === undefined || text.includes(match.toLowerCase())),
      )
      .map(({ match }) => ({ kind, named: match !== undefined })),
  );
  const named = asked.filter((row) => row.named);
  return [...new Set((named.length > 0 ? named : asked).map(({ kind }) => kind))];
}

function isSettled(
  before: { day: string; by: 'done' | 'declined' } | undefined,
  findings: readonly Finding[],
  today: string,
): boolean {
  if (!before) return false;
  const dueSoon = findings.some(({ dueBy }) => dueBy !== undefined && daysBetween(today, dueBy) <= 7);
  if (before.by === 'declined' && dueSoon) return false;
  return daysBetween(before.day, today) < (before.by === 'done' ? DONE_DAYS : DECLINED_DAYS);
}

function inspectionOf(
  vehicle: string,
  kind: InspectionKind,
  findings: readonly Finding[],
  today: string,
): ProposedInspection {
  const weight = 1 - findings.reduce((left, finding) => left * (1 - Math.min(1, finding.weight)), 1);
  const dues = findings.flatMap(({ dueBy }) => (dueBy === undefined ? [] : [dueBy]));
  const latest = [...dues, ...(dues.length === 0 ? [addDays(today, kind.withinDays)] : [])].sort()[0]!;
  return {
    ...{
      vehicle,
      kind: kind.id,
      label: kind.label,
      minutes: kind.minutes,
      skills: kind.skills,
      features: kind.features,
    },
    why: findings.map(reasonOf).sort((a, b) => b.weight - a.weight || (a.text < b.text ? -1 : 1)),
    ...{ earliest: addDays(today, kind.leadDays), latest },
    costPerDay: rounded(kind.costPerDay * weight),
    latePerDay: rounded(kind.latePerDay),
  };
}

const reasonOf = ({ source, text, weight, evidence }: Finding): InspectionReason => ({
  ...{ source, text, weight: rounded(weight), evidence: [...evidence] },
});

const rounded = (value: number): number => Math.round(value * 100) / 100;
