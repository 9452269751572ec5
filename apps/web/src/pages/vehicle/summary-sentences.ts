import type {
  VehicleCodes,
  VehicleQuality,
  VehicleReadiness,
  VehicleResiduals,
  VehicleWeeks,
} from '@tallybay/contracts';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { weekDays } from '../ranking/week-names.js';
import { kelvinText } from './kelvin.js';
import { highestStage, hotRun, worstSignal } from './week-facts.js';
import { DepotTime, daysSince } from './when.js';

/** What the page has fetched so far; null = not there (yet, or at all). */
export interface SummaryFacts {
  weeks: VehicleWeeks | null;
  codes: VehicleCodes | null;
  readiness: VehicleReadiness | null;
  quality: VehicleQuality | null;
  residuals: VehicleResiduals | null;
}

export interface Summary {
  wrong: string[];
  since: string[];
  sure: string[];
  level: 'well' | 'reserved' | 'unknown';
}

const MOST_CODES = 2;
/** Judgement, no source: below this one drive decides. */
const FEW_HOURS = 2;
const OLD_DAYS = 14;

const words = () => t.vehicle.summary;

/** "What is wrong, since when, how sure" in a few sentences, from what the sections below show in full. */
export function summaryOf(facts: SummaryFacts, nowMs: number): Summary {
  return {
    wrong: [
      ...heatNow(facts.weeks),
      ...warned(facts.residuals).map(({ label, excessK }) => words().warmer(label, kelvinText(excessK ?? 0))),
      ...codesNow(facts.codes),
      ...inspectionNow(facts.readiness),
    ],
    since: sinceWhen(facts),
    ...howSure(facts, nowMs),
  };
}

const drivenWeek = (weeks: VehicleWeeks): number => weeks.weeks.findLastIndex(({ drives }) => drives > 0);

function heatNow(weeks: VehicleWeeks | null): string[] {
  if (!weeks) return [];
  const newest = drivenWeek(weeks);
  const signal = weeks.signals.find((one) => one.signal === worstSignal(weeks));
  if (!signal || newest < 0) return [words().heatUnknown];
  const week = signal.weeks[newest]!;
  const reached = highestStage(signal, newest);
  const days = weekDays(weeks.weeks[newest]!.week);
  if (!reached || reached.stage.stage === 'watch') return [words().notHot(days)];
  const limit = quantityText(reached.stage.value, signal.unit);
  const peak = quantityText(week.max, signal.unit);
  const time = t.vehicle.duration(reached.seconds);
  const what = words().hot(signal.label, t.stages[reached.stage.stage], limit, time, peak);
  return [words().inWeek(what, days, weeks.weeks[newest]!.engineHours.toFixed(1))];
}

/** Temperatures that are out of line with what the drives explain, whether or not a stage was reached. */
const warned = (residuals: VehicleResiduals | null) => residuals?.signals.filter(({ warns }) => warns) ?? [];

const PRESENT = ['confirmed', 'permanent', 'pending'];

const presentCodes = (codes: VehicleCodes) =>
  codes.codes
    .filter(({ status }) => PRESENT.includes(status))
    .sort((a, b) => PRESENT.indexOf(a.status) - PRESENT.indexOf(b.status) || b.severity - a.severity);

function codesNow(codes: VehicleCodes | null): string[] {
  if (!codes) return [];
  if (codes.snapshots === 0) return [words().codesUnknown];
  const present = presentCodes(codes);
  if (present.length === 0) return [words().noCodes];
  const named = present.slice(0, MOST_CODES).map(({ code, text }) => words().codeName(code, text));
  return [words().codes(named, Math.max(0, present.length - MOST_CODES))];
}

function inspectionNow(readiness: VehicleReadiness | null): string[] {
  for (const name of ['would_fail', 'would_be_refused'] as const) {
    const found = readiness?.verdicts.find(({ verdict }) => verdict === name);
    if (found) return [words().inspection[name](found.label)];
  }
  return [];
}

function sinceWhen({ weeks, codes, residuals }: SummaryFacts): string[] {
  const sentences = [...(weeks ? heatSince(weeks) : [])];
  const time = new DepotTime(weeks?.timeZone ?? 'UTC');
  const [warning] = warned(residuals);
  const recent = warning?.drives.find(({ from }) => from >= (residuals?.recentFrom ?? ''));
  if (warning && recent) sentences.push(words().warmerSince(warning.label, time.date(recent.from)));
  const code = codes && presentCodes(codes)[0];
  if (code) {
    sentences.push(words().codeSince(code.code, time.date(code.firstSeen), code.returns.length));
  }
  return sentences.length > 0 ? sentences : [words().nothingSince];
}

function heatSince(weeks: VehicleWeeks): string[] {
  const signal = weeks.signals.find((one) => one.signal === worstSignal(weeks));
  const run = signal && hotRun(signal);
  if (!run) return [];
  const stage = t.stages[run.stage.stage];
  const week = weekDays(weeks.weeks[run.first]!.week);
  return [
    run.fromStart && run.weeks > 1
      ? words().hotSinceBefore(signal.label, stage, week)
      : words().hotSince(signal.label, stage, week, run.weeks),
  ];
}

function howSure({ weeks, codes, quality }: SummaryFacts, nowMs: number): Pick<Summary, 'sure' | 'level'> {
  if (!weeks) return { sure: [], level: 'unknown' };
  const sum = (pick: (week: VehicleWeeks['weeks'][number]) => number) =>
    weeks.weeks.reduce((all, week) => all + pick(week), 0);
  const [drives, hours, snapshots] = [
    sum((week) => week.drives),
    sum((week) => week.engineHours),
    sum((week) => week.snapshots),
  ];
  const time = new DepotTime(weeks.timeZone);
  const old = weeks.newestData ? daysSince(weeks.newestData, nowMs) : 0;
  const reservations = [
    ...(hours < FEW_HOURS ? [words().few] : []),
    ...(snapshots === 0 && codes !== null ? [words().neverRead] : []),
    ...(quality && quality.findings.length > 0
      ? [words().notBelieved(quality.findings.map(({ label }) => label))]
      : []),
    ...(quality && quality.notRecorded.length > 0
      ? [words().notRecorded(quality.notRecorded.map(({ label }) => label))]
      : []),
    ...(weeks.newestData && old > OLD_DAYS ? [words().old(old, time.date(weeks.newestData))] : []),
  ];
  return {
    sure: [words().basis(drives, hours.toFixed(1), snapshots), ...reservations],
    level: drives === 0 && snapshots === 0 ? 'unknown' : reservations.length > 0 ? 'reserved' : 'well',
  };
}
