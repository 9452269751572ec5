import type { SignalLimit } from '@tallybay/contracts';
import { isSignalId, signalRow, UNITS, unitFits } from '@tallybay/decode';
import { inUnit, shownUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';

/** A limit as it is being typed. */
export interface LimitDraft {
  signal: string;
  /** `class:NAME` (`class:*` = every class without its own) or `vehicle:ID`. */
  forWhom: string;
  direction: SignalLimit['direction'];
  stage: SignalLimit['stage'];
  value: string;
  unit: string;
  hysteresis: string;
  minSeconds: string;
  during: SignalLimit['during'];
  source: string;
}

export type DraftProblems = Partial<Record<'value' | 'hysteresis' | 'minSeconds' | 'twice', string>>;

const canonicalUnit = (signal: string): string => (isSignalId(signal) ? signalRow(signal).unit : '');

/** Units that a limit on the signal may be written in, the reader's own first. */
export function unitsOf(signal: string): string[] {
  if (!isSignalId(signal)) return [];
  const { quantity, unit } = signalRow(signal);
  const fitting = UNITS.filter((row) => unitFits(row, quantity) && !row.reciprocal).map(({ id }) => id);
  return [...new Set([shownUnit(unit), unit, ...fitting])];
}

export const emptyDraft = (signal: string): LimitDraft => ({
  ...{
    signal,
    forWhom: 'class:*',
    direction: 'high',
    stage: 'caution',
    value: '',
    unit: shownUnit(canonicalUnit(signal)),
  },
  ...{ hysteresis: '0', minSeconds: '10', during: 'running', source: '' },
});

/** The row in the unit that it was written in if that can be told, else in the reader's. */
export function draftOf(row: SignalLimit): LimitDraft {
  const canonical = canonicalUnit(row.signal);
  const unit = unitsOf(row.signal).find((id) => row.written.endsWith(` ${unitLabel(id)}`)) ?? shownUnit(canonical);
  return {
    ...{ signal: row.signal, direction: row.direction, stage: row.stage, during: row.during, source: row.source, unit },
    forWhom: row.vehicle === undefined ? `class:${row.vehicleClass}` : `vehicle:${row.vehicle}`,
    value: plain(inUnit(row.value, canonical, unit)),
    hysteresis: plain(differenceIn(row.hysteresis, canonical, unit)),
    minSeconds: String(row.minSeconds),
  };
}

/** The row that a draft stands for, or what is wrong with it. `at` = its place in the list, -1 for a new one. */
export function rowOf(
  draft: LimitDraft,
  rows: readonly SignalLimit[],
  at: number,
): { row: SignalLimit } | { problems: DraftProblems } {
  const [value, hysteresis, minSeconds] = [draft.value, draft.hysteresis, draft.minSeconds].map(numberOf) as [
    number,
    number,
    number,
  ];
  const problems: DraftProblems = {
    ...(Number.isNaN(value) ? { value: t.signalLimits.problems.value } : {}),
    ...(hysteresis >= 0 ? {} : { hysteresis: t.signalLimits.problems.hysteresis }),
    ...(minSeconds >= 0 && minSeconds <= 86_400 ? {} : { minSeconds: t.signalLimits.problems.minSeconds }),
  };
  if (Object.keys(problems).length > 0) return { problems };
  const canonical = canonicalUnit(draft.signal);
  const [kind, name] = splitOnce(draft.forWhom);
  const row: SignalLimit = {
    ...{ signal: draft.signal, direction: draft.direction, stage: draft.stage, during: draft.during, minSeconds },
    ...(kind === 'vehicle' ? { vehicleClass: '*', vehicle: name } : { vehicleClass: name }),
    value: rounded(inUnit(value, draft.unit, canonical)),
    hysteresis: rounded(differenceIn(hysteresis, draft.unit, canonical)),
    written: `${plain(value)} ${unitLabel(draft.unit)}`,
    source: draft.source.trim() || t.signalLimits.ownSource,
  };
  const twice = rows.some((other, index) => index !== at && keyOf(other) === keyOf(row));
  return twice ? { problems: { twice: t.signalLimits.problems.twice } } : { row };
}

/** Two rows of one key would contradict each other. */
export const keyOf = ({ signal, vehicle, vehicleClass, direction, stage }: SignalLimit): string =>
  [signal, vehicle ?? '', vehicleClass, direction, stage].join(' ');

export const sortedRows = (rows: readonly SignalLimit[]): SignalLimit[] =>
  rows.toSorted((a, b) => (keyOf(a) < keyOf(b) ? -1 : 1));

/** A hysteresis as a reader sees it: an interval, so 0 °C of it is not 32 °F. */
export const intervalText = (value: number, signal: string): string => {
  const canonical = canonicalUnit(signal);
  const unit = shownUnit(canonical);
  return `${plain(differenceIn(value, canonical, unit))} ${unitLabel(unit)}`;
};

const differenceIn = (difference: number, from: string, to: string): number =>
  inUnit(difference, from, to) - inUnit(0, from, to);

const numberOf = (text: string): number => (text.trim() === '' ? Number.NaN : Number(text.replace(',', '.')));
const rounded = (value: number): number => Math.round(value * 10_000) / 10_000;
const plain = (value: number): string => String(Math.round(value * 100) / 100);

function splitOnce(text: string): [string, string] {
  const colon = text.indexOf(':');
  return [text.slice(0, colon), text.slice(colon + 1)];
}
