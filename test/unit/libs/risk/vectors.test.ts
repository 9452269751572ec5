// Published numbers, each with its source in the fixture's `source` field. The fixtures are test/fixtures/vectors/*.json.
import { readFileSync } from 'node:fs';
import type { MonitorId } from '@tallybay/contracts';
import {
  activationEvForDoubling,
  ageingFactor,
  arrheniusFactor,
  boilingPointDegF,
  CALIFORNIA_HEAVY_PHASE_2,
  CALIFORNIA_PERMANENT_CODES,
  celsiusFromFahrenheit,
  describe as describeValues,
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
import { describe, expect, it } from 'vitest';

const load = (name: string) =>
  JSON.parse(readFileSync(new URL(`../../../fixtures/vectors/${name}.json`, import.meta.url), 'utf8'));

// biome-ignore lint/suspicious/noExplicitAny: rows of a JSON fixture, each test reads the fields of its kind
type Row = any;

const stats = load('stats');
const thermal: Row[] = load('thermal');
const readiness: Row[] = load('readiness');

describe('statistics', () => {
  it.each(stats.gammaPoisson as Row[])('Gamma-Poisson posterior, $source', ({ prior, counts, exposure, expected }) => {
    const posterior = gammaPoissonPosterior(prior, counts, exposure);
    expect(posterior.mean).toBeCloseTo(expected.mean, 8);
    if (expected.alpha !== undefined) expect(posterior).toMatchObject({ alpha: expected.alpha, beta: expected.beta });
  });

  it.each(stats.ebMoments as Row[])('moments of Marshall 1991, $source', ({ y, e, expected }) => {
    const result = empiricalBayesRates(y, e);
    for (const key of ['m', 's2', 'A', 'alpha', 'beta'] as const) {
      if (expected[key] === null) expect(result[key]).toBeNull();
      else expect(result[key]).toBeCloseTo(expected[key], 7);
    }
    expected.theta.forEach((theta: number, index: number) => {
      expect(result.theta[index]).toBeCloseTo(theta, 8);
    });
  });

  it('shrinking changes who is first: raw rates say vehicle 5, shrunk ones vehicle 4', () => {
    const { y, e } = stats.ebMoments[0];
    const raw = y.map((count: number, index: number) => count / e[index]);
    const { theta } = empiricalBayesRates(y, e);
    expect(raw.indexOf(Math.max(...raw))).toBe(4);
    expect(theta.indexOf(Math.max(...theta))).toBe(3);
  });

  it.each(stats.timeWeighted as Row[])('time-weighted means, $source', ({ t, x, expected }) => {
    expect(timeWeightedMeans(t, x)).toEqual(expected);
  });

  it.each(stats.overLimit as Row[])('exceedance over $limit, $source', ({ t, x, limit, expected }) => {
    const { time, area } = linearExceedance(t, x, limit);
    expect(time).toBeCloseTo(expected.time, 9);
    expect(area).toBeCloseTo(expected.area, 9);
  });

  it.each(stats.rainflow as Row[])('rainflow, $source', ({ series, expected }) => {
    expect(rainflow(series)).toEqual(expected);
  });

  it('NIST StRD NumAcc1 and NumAcc4 (from memory), NIST e-Handbook 7.2.6.2', () => {
    const [accuracy1, , quantile] = stats.nist;
    expect(describeValues(accuracy1.data)).toMatchObject(accuracy1.expected);
    const accuracy4 = [10000000.2, ...Array.from({ length: 500 }, () => [10000000.1, 10000000.3]).flat()];
    expect(describeValues(accuracy4).mean).toBeCloseTo(10000000.2, 7);
    expect(describeValues(accuracy4).sd).toBeCloseTo(0.1, 8);
    expect(percentile(quantile.data, 0.9)).toBeCloseTo(quantile.expected.p90, 8);
  });
});

describe('thermal', () => {
  const check: Record<string, (row: Row) => void> = {
    'atf-aging-factor': (row) =>
      expect(ageingFactor(row.degF, row.refDegF, row.doublingDegF)).toBeCloseTo(row.expected, 12),
    'atf-equivalent-hours': (row) => {
      const profile = row.profile.map((step: Row) => ({ temperature: step.degF, hours: step.h }));
      expect(equivalentHours(profile, 175, 20)).toBeCloseTo(row.expected, 12);
    },
    'arrhenius-af': (row) => {
      const factor = arrheniusFactor(row.EaEv, row.useC, row.stressC);
      expect(factor / row.expected).toBeCloseTo(1, 8);
      expect(Math.abs(factor / row.published - 1)).toBeLessThan(row.tolerance);
    },
    'ea-for-doubling': (row) => {
      const from = row.fromDegC ?? celsiusFromFahrenheit(row.fromDegF);
      const to = row.toDegC ?? celsiusFromFahrenheit(row.toDegF);
      expect(activationEvForDoubling(from, to)).toBeCloseTo(row.expectedEv, 8);
    },
    'boil-rule-of-thumb': (row) => expect(boilingPointDegF(row.baseDegF, row.capPsi)).toBe(row.expectedDegF),
  };

  it.each(thermal.map((row, index) => ({ ...row, index })))('row $index: $kind, $source', (row) => {
    expect(check[row.kind], row.kind).toBeDefined();
    check[row.kind]!(row);
  });
});

describe('ISO 8601 weeks', () => {
  it.each(load('iso-week') as Row[])('$date is $week', ({ date, week }) => {
    expect(isoWeekDate(date)).toBe(week);
  });
});

describe('readiness rules', () => {
  const KM_PER_MILE = 1.609344;
  const km = (miles: number | null) => (miles === null ? null : miles * KM_PER_MILE);
  const someMonitors: MonitorId[] = ['catalyst', 'evap', 'o2_sensor', 'o2_heater', 'egr_vvt'];
  const check: Record<string, (row: Row) => string> = {
    'EPA-2/1': (row) =>
      judgeMonitors(
        MONITOR_RULES['federal-2-1'],
        { modelYear: row.modelYear, fuel: 'gas' },
        someMonitors.slice(0, row.incompleteNonContinuous),
      ).verdict.replace('_', '-'),
    'CA-BAR-OIS': (row) => {
      const rule = MONITOR_RULES[row.edition === '2015' ? 'california-2015' : 'california-current'];
      return judgeMonitors(rule, row, row.incomplete).verdict === 'ready' ? 'pass' : 'fail';
    },
    'CA-PDTC': (row) => {
      const result = judgePermanentCodes(CALIFORNIA_PERMANENT_CODES, {
        modelYear: row.modelYear,
        permanentCodes: row.permanentCount,
        lampOn: row.mil,
        warmUpsSinceClear: row.warmupsSinceClear,
        distanceSinceClearKm: km(row.milesSinceClear),
      });
      return result === 'fail' ? 'fail-pdtc' : result;
    },
    'CA-CTC-phase2-OSC': (row) => {
      const result = judgeOperation(CALIFORNIA_HEAVY_PHASE_2, {
        permanentCodes: row.permanentCount,
        warmUpsSinceClear: row.warmupsSinceClear,
        distanceSinceClearKm: km(row.milesSinceClear),
        minutesSinceClear: row.minutesSinceClear,
      });
      return result === 'met' ? 'meets-osc' : 'not-ready';
    },
    '40CFR85.2207': (row) =>
      judgeLamp({
        lampOn: row.milCommandedOn,
        storedCodes: row.dtcCount,
        lampVisible: row.milVisiblyLitWhenCommanded,
        connectorOk: row.connectorOk,
      }).replace(/^fail_or_refuse$/, 'fail-or-reject'),
  };

  it.each(readiness.map((row, index) => ({ ...row, index })))('row $index: $rule, $source', (row) => {
    expect(check[row.rule], row.rule).toBeDefined();
    expect(check[row.rule]!(row)).toBe(row.expected.split(' ')[0]);
  });
});
