import type { MonitorId } from '@tallybay/contracts';

/** Monitors that run all the time; the rules on incomplete monitors speak of the others. */
export const CONTINUOUS_MONITORS: readonly MonitorId[] = ['misfire', 'fuel_system', 'components'];

/** What may be incomplete for one fuel and range of model years. */
export interface MonitorRow {
  fuel: 'any' | 'gas' | 'diesel';
  fromYear: number;
  toYear: number | null;
  /** `count`: any so many; `only`: these, and nothing else. */
  allowed: { count: number } | { only: readonly MonitorId[] };
}

export interface MonitorRule {
  id: string;
  label: string;
  /** Date of the text that the rows were taken from. */
  edition: string;
  source: string;
  rows: readonly MonitorRow[];
}

/** Model years outside every row are not subject to the rule. `gas` includes propane and natural gas. */
export const MONITOR_RULES = {
  'federal-2-1': {
    id: 'federal-2-1',
    label: 'Federal guideline: two incomplete monitors for 1996 to 2000, one from 2001',
    edition: '2001-04-05',
    source:
      'guideline as restated publicly; same numbers in 16 CCR 3340.42.2(b). 40 CFR 85.2222(c)(2) / 66 FR 18155 from memory: confirm before quoting',
    rows: [
      { fuel: 'any', fromYear: 1996, toYear: 2000, allowed: { count: 2 } },
      { fuel: 'any', fromYear: 2001, toYear: null, allowed: { count: 1 } },
    ],
  },
  'california-2015': {
    id: 'california-2015',
    label: 'California light duty, edition of May 2015: diesel from 2007 any two',
    edition: '2015-05-04',
    source:
      'BAR standard of 2015-05-04 as quoted on a secondary page; disagrees with the later edition on diesel from 2007',
    rows: [
      { fuel: 'gas', fromYear: 1996, toYear: 1999, allowed: { count: 1 } },
      { fuel: 'gas', fromYear: 2000, toYear: null, allowed: { only: ['evap'] } },
      { fuel: 'diesel', fromYear: 1998, toYear: 2006, allowed: { count: 0 } },
      { fuel: 'diesel', fromYear: 2007, toYear: null, allowed: { count: 2 } },
    ],
  },
  'california-current': {
    id: 'california-current',
    label: 'California light duty, later edition: diesel from 2007 only particulate filter and NMHC catalyst',
    edition: 'after 2015-05-04, date not known',
    source: 'BAR Smog Check OBD Reference, later edition, seen only as quoted on secondary pages',
    rows: [
      { fuel: 'gas', fromYear: 1996, toYear: 1999, allowed: { count: 1 } },
      { fuel: 'gas', fromYear: 2000, toYear: null, allowed: { only: ['evap'] } },
      { fuel: 'diesel', fromYear: 1998, toYear: 2006, allowed: { count: 0 } },
      { fuel: 'diesel', fromYear: 2007, toYear: null, allowed: { only: ['pm_filter', 'nmhc_catalyst'] } },
    ],
  },
} as const satisfies Record<string, MonitorRule>;

/** Permanent codes: they fail the vehicle until it has run this far since the clear, with the lamp off. */
export interface PermanentCodeRule {
  id: string;
  fromDate: string;
  fromModelYear: number;
  warmUps: number;
  distanceKm: number;
  source: string;
}

const KM_PER_MILE = 1.609344;

export const CALIFORNIA_PERMANENT_CODES: PermanentCodeRule = {
  id: 'california-permanent-2019',
  fromDate: '2019-07-01',
  fromModelYear: 2010,
  warmUps: 15,
  distanceKm: 200 * KM_PER_MILE,
  source: 'BAR newsletter of spring 2019 (read); 15 warm-ups and 200 miles as quoted on a secondary page',
};

/** Operation since clear for heavy vehicles: the first counter that was recorded decides. */
export interface OperationRule {
  id: string;
  warmUps: { plain: number; permanent: number };
  distanceKm: { plain: number; permanent: number };
  minutes: { plain: number; permanent: number };
  source: string;
}

export const CALIFORNIA_HEAVY_PHASE_2: OperationRule = {
  id: 'california-heavy-phase-2',
  warmUps: { plain: 5, permanent: 15 },
  distanceKm: { plain: 100 * KM_PER_MILE, permanent: 300 * KM_PER_MILE },
  minutes: { plain: 200, permanent: 600 },
  source: 'CARB statement quoted on a secondary page; phase 1 was 3 warm-ups, limits will tighten',
};

/** A named set of rules that one inspection programme applies together. */
export interface Programme {
  id: string;
  label: string;
  /** `lamp`: lamp on fails; `any-code`: so does a confirmed code without a lamp. */
  fails: readonly ('lamp' | 'any-code')[];
  monitors: MonitorRule | null;
  permanent: PermanentCodeRule | null;
  operation: OperationRule | null;
  source: string;
}

const LAMP = '40 CFR 85.2207(c) (read)';

export const PROGRAMMES: readonly Programme[] = [
  {
    id: 'federal',
    label: 'Federal on-board diagnostic test',
    fails: ['lamp'],
    monitors: MONITOR_RULES['federal-2-1'],
    permanent: null,
    operation: null,
    source: LAMP,
  },
  {
    id: 'california',
    label: 'California light duty, later edition',
    fails: ['lamp', 'any-code'],
    monitors: MONITOR_RULES['california-current'],
    permanent: CALIFORNIA_PERMANENT_CODES,
    operation: null,
    source: '16 CCR 3340.42.2(c) (read)',
  },
  {
    id: 'california-2015',
    label: 'California light duty, edition of 2015',
    fails: ['lamp', 'any-code'],
    monitors: MONITOR_RULES['california-2015'],
    permanent: CALIFORNIA_PERMANENT_CODES,
    operation: null,
    source: '16 CCR 3340.42.2(c) (read)',
  },
  {
    id: 'california-heavy',
    label: 'California heavy duty, operation since clear, phase 2',
    fails: ['lamp'],
    monitors: null,
    permanent: null,
    operation: CALIFORNIA_HEAVY_PHASE_2,
    source: CALIFORNIA_HEAVY_PHASE_2.source,
  },
];

/** How a verdict becomes a score. Judgement, no source. */
export interface ReadinessScoring {
  programme: string;
  verdicts: { wouldFail: number; wouldBeRefused: number; perIncompleteMonitor: number };
  hiddenClear: number;
  /** Share of the score that counts, by days to the inspection date; the first row that fits, none known = `unknown`. */
  urgency: readonly { withinDays: number; share: number }[];
  urgencyLater: number;
  urgencyUnknown: number;
  staleDays: number;
  /** A clear shows within one snapshot: at most so many warm-ups and kilometres since it, at least so many incomplete. */
  freshClear: { warmUps: number; distanceKm: number; incomplete: number };
}

export const READINESS_SCORING: ReadinessScoring = {
  programme: 'federal',
  verdicts: { wouldFail: 1, wouldBeRefused: 0.6, perIncompleteMonitor: 0.05 },
  hiddenClear: 0.3,
  urgency: [
    { withinDays: 14, share: 1 },
    { withinDays: 60, share: 0.8 },
  ],
  urgencyLater: 0.5,
  urgencyUnknown: 0.7,
  staleDays: 35,
  freshClear: { warmUps: 3, distanceKm: 100, incomplete: 3 },
};
