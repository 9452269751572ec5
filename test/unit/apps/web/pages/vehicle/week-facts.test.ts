// The page's own rules, no source.
import type { VehicleWeeks } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import {
  highestStage,
  hotRun,
  type SignalWeeks,
  shownWeeks,
  worstSignal,
} from '../../../../../../apps/web/src/pages/vehicle/week-facts.js';

const stages = (['watch', 'caution', 'alarm'] as const).map((stage, index) => ({
  stage,
  value: 100 + index,
  written: '',
}));
/** null = not recorded in that week; else seconds at or above watch, caution, alarm. */
const signal = (id: string, weeks: (number[] | null)[]): SignalWeeks => ({
  ...{ signal: id, label: id, unit: 'degC', stages, bins: [] },
  weeks: weeks.map((atOrAbove) => ({
    ...{ seconds: atOrAbove ? 3600 : 0, mean: null, max: null, maxAt: null, maxUpload: null },
    atOrAbove: atOrAbove ?? [0, 0, 0],
  })),
});
const COOL = [0, 0, 0];
const WATCH = [60, 0, 0];
const HOT = [90, 60, 0];
const ALARM = [90, 60, 20];

describe('since when a temperature is hot', () => {
  it('is the first week of the unbroken run up to the newest', () => {
    expect(hotRun(signal('a', [HOT, COOL, HOT, ALARM]))).toMatchObject({ first: 2, weeks: 2, fromStart: false });
    expect(hotRun(signal('a', [COOL, HOT]))).toMatchObject({ first: 1, weeks: 1, fromStart: false });
  });

  it('is not broken by weeks of which nothing is known, and may lie before the first known one', () => {
    expect(hotRun(signal('a', [null, HOT, null, HOT, null]))).toMatchObject({ first: 1, weeks: 2, fromStart: true });
  });

  it('has no answer when the newest week stayed below caution, or nothing was recorded', () => {
    expect(hotRun(signal('a', [HOT, HOT, WATCH]))).toBeNull();
    expect(hotRun(signal('a', [null, null]))).toBeNull();
    expect(hotRun({ ...signal('a', [HOT]), stages: [] })).toBeNull();
  });
});

const weeksOf = (signals: SignalWeeks[], drives: number[]) =>
  ({
    signals,
    weeks: drives.map((count, index) => ({ week: `2026-W${10 + index}`, drives: count, snapshots: 0 })),
  }) as VehicleWeeks;

describe('the temperature that is shown first', () => {
  it('is the one at the highest stage in its newest week, then the one longest there', () => {
    const signals = [signal('cool', [ALARM, COOL]), signal('hot', [COOL, HOT]), signal('hotter', [COOL, ALARM])];
    expect(worstSignal(weeksOf(signals, [1, 1]))).toBe('hotter');
    expect(worstSignal(weeksOf([signal('short', [[9, 5, 0]]), signal('long', [[9, 8, 0]])], [1]))).toBe('long');
    const near = (id: string, max: number) => {
      const cool = signal(id, [COOL]);
      return { ...cool, weeks: cool.weeks.map((week) => ({ ...week, max })) };
    };
    expect(worstSignal(weeksOf([near('far', 70), near('near', 99), near('middle', 80)], [1]))).toBe('near');
    expect(worstSignal(weeksOf([], [1]))).toBeNull();
  });

  it('names the highest stage of a week', () => {
    expect(highestStage(signal('a', [ALARM, WATCH, COOL]), 0)).toMatchObject({
      stage: { stage: 'alarm' },
      seconds: 20,
    });
    expect(highestStage(signal('a', [ALARM, WATCH, COOL]), 1)).toMatchObject({ stage: { stage: 'watch' } });
    expect(highestStage(signal('a', [ALARM, WATCH, COOL]), 2)).toBeNull();
  });
});

it('weeks before the first data are not shown', () => {
  expect(shownWeeks(weeksOf([], [0, 0, 2, 0]))).toEqual({ first: 2, names: ['2026-W12', '2026-W13'] });
  expect(shownWeeks(weeksOf([], [0, 0])).first).toBe(0);
});
