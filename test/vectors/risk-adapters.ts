import type { MonitorId } from '@tallybay/contracts';
import {
  activationEvForDoubling,
  ageingFactor,
  arrheniusFactor,
  boilingPointDegF,
  CALIFORNIA_HEAVY_PHASE_2,
  CALIFORNIA_PERMANENT_CODES,
  celsiusFromFahrenheit,
  describe,
  empiricalBayesRates,
  equivalentHours,
  gammaPoissonPosterior,
  isoWeekDate,
  judgeLamp,
  judgeMonitors,
  judgeOperation,
  judgePermanentCodes,
  linearExceedance,
  MONITOR_RULES,
  percentile,
  rainflow,
  timeWeightedMeans,
} from '@tallybay/risk';
import { type Adapter, type Check, picked, unknownKind, type Vector } from './check.js';

const KM_PER_MILE = 1.609344;
const kmOrNull = (miles: number | null): number | null => (miles === null ? null : miles * KM_PER_MILE);

/** `{date, week}` */
export const isoWeek: Adapter = ({ date, week }) => [{ name: date, expected: week, got: isoWeekDate(date) }];

/** Monitors that stand for a mere count: no rule of the count names one. */
const anyMonitors = (count: number): MonitorId[] => Array.from({ length: count }, () => 'catalyst' as const);

const READINESS: Record<string, (vector: Vector) => string> = {
  'EPA-2/1': ({ modelYear, incompleteNonContinuous }) => {
    const incomplete = anyMonitors(incompleteNonContinuous);
    return judgeMonitors(MONITOR_RULES['federal-2-1'], { modelYear, fuel: 'gas' }, incomplete).verdict.replace(
      '_',
      '-',
    );
  },
  'CA-BAR-OIS': ({ edition, modelYear, fuel, incomplete }) => {
    const rule = MONITOR_RULES[edition === '2015' ? 'california-2015' : 'california-current'];
    const { verdict } = judgeMonitors(rule, { modelYear, fuel }, incomplete);
    return { ready: 'pass', not_ready: 'fail', not_subject: 'not-subject' }[verdict];
  },
  'CA-PDTC': (vector) => {
    const verdict = judgePermanentCodes(CALIFORNIA_PERMANENT_CODES, {
      modelYear: vector.modelYear,
      permanentCodes: vector.permanentCount,
      lampOn: vector.mil,
      warmUpsSinceClear: vector.warmupsSinceClear,
      distanceSinceClearKm: kmOrNull(vector.milesSinceClear),
    });
    return verdict === 'fail' ? 'fail-pdtc' : verdict;
  },
  'CA-CTC-phase2-OSC': (vector) => {
    const verdict = judgeOperation(CALIFORNIA_HEAVY_PHASE_2, {
      permanentCodes: vector.permanentCount,
      warmUpsSinceClear: vector.warmupsSinceClear,
      distanceSinceClearKm: kmOrNull(vector.milesSinceClear),
      minutesSinceClear: vector.minutesSinceClear,
    });
    return { met: 'meets-osc', not_met: 'not-ready', unknown: 'unknown' }[verdict];
  },
  '40CFR85.2207': (vector) => {
    const verdict = judgeLamp({
      lampOn: vector.milCommandedOn,
      storedCodes: vector.dtcCount,
      lampVisible: vector.milVisiblyLitWhenCommanded,
      connectorOk: vector.connectorOk,
    });
    return verdict === 'fail_or_refuse' ? 'fail-or-reject' : verdict;
  },
};

/** `{rule, …, expected}`; what stands behind the verdict in brackets is a remark. */
export const readiness: Adapter = (vector) => {
  const judge = READINESS[vector.rule] ?? ((other) => unknownKind('readiness', other));
  const { expected, source, ...facts } = vector;
  return [{ name: JSON.stringify(facts), expected: String(expected).replace(/ \(.*\)$/, ''), got: judge(vector) }];
};

const THERMAL: Record<string, (vector: Vector) => Check[]> = {
  'atf-aging-factor': ({ degF, refDegF, doublingDegF, expected }) => [
    { name: `${degF} degF`, expected, got: ageingFactor(degF, refDegF, doublingDegF) },
  ],
  'atf-equivalent-hours': ({ profile, expected }) => {
    const hours = profile.map((part: { degF: number; h: number }) => ({ temperature: part.degF, hours: part.h }));
    return [{ name: 'equivalent hours at 175 degF', expected, got: equivalentHours(hours, 175, 20) }];
  },
  'arrhenius-af': ({ EaEv, useC, stressC, expected, published, tolerance }) => {
    const got = arrheniusFactor(EaEv, useC, stressC);
    const checks: Check[] = [{ name: `${EaEv} eV, computed`, expected, got, tolerance: 1e-6 }];
    if (published !== undefined) checks.push({ name: `${EaEv} eV, published`, expected: published, got, tolerance });
    return checks;
  },
  'ea-for-doubling': ({ fromDegF, toDegF, fromDegC, toDegC, expectedEv }) => {
    const from = fromDegC ?? celsiusFromFahrenheit(fromDegF);
    const to = toDegC ?? celsiusFromFahrenheit(toDegF);
    return [
      { name: `${from} to ${to} degC`, expected: expectedEv, got: activationEvForDoubling(from, to), tolerance: 1e-6 },
    ];
  },
  'boil-rule-of-thumb': ({ baseDegF, capPsi, expectedDegF }) => [
    { name: `${baseDegF} degF, ${capPsi} psi`, expected: expectedDegF, got: boilingPointDegF(baseDegF, capPsi) },
  ],
};

export const thermal: Adapter = (vector) =>
  (THERMAL[vector.kind] ?? ((other) => unknownKind('thermal', other)))(vector);

const STATS: Record<string, (vector: Vector) => Check[]> = {
  gammaPoisson: ({ prior, counts, exposure, expected }) => [
    { name: 'posterior', expected, got: picked(expected, { ...gammaPoissonPosterior(prior, counts, exposure) }) },
  ],
  ebMoments: ({ y, e, expected }) => [
    { name: 'moments', expected, got: picked(expected, { ...empiricalBayesRates(y, e) }) },
  ],
  timeWeighted: ({ t, x, expected }) => [
    { name: 'means', expected, got: picked(expected, { ...timeWeightedMeans(t, x) }) },
  ],
  overLimit: ({ t, x, limit, expected }) => [
    { name: `over ${limit}`, expected, got: picked(expected, { ...linearExceedance(t, x, limit) }) },
  ],
  rainflow: ({ series, expected }) => [{ name: series.join(' '), expected, got: rainflow(series) }],
  nist: ({ name, data, expected }) => {
    const values: number[] = data ?? NIST_RECIPES[name]?.() ?? unknownKind('stats', { name });
    const all = { ...describe(values), p90: percentile(values, 0.9) };
    // Published to as many digits as the reference data carry.
    return [{ name, expected, got: picked(expected, all), tolerance: 1e-8 }];
  },
};

/** Reference data printed as a recipe (NIST StRD, from memory). */
const NIST_RECIPES: Record<string, () => number[]> = {
  NumAcc2: () => [1.2, ...Array.from({ length: 500 }, () => [1.1, 1.3]).flat()],
  NumAcc3: () => [1_000_000.2, ...Array.from({ length: 500 }, () => [1_000_000.1, 1_000_000.3]).flat()],
  NumAcc4: () => [10_000_000.2, ...Array.from({ length: 500 }, () => [10_000_000.1, 10_000_000.3]).flat()],
};

/** One vector is `{kind, …}`, made by the runner from the groups of the file. */
export const stats: Adapter = (vector) => (STATS[vector.kind] ?? ((other) => unknownKind('stats', other)))(vector);
