// Inspection rules and the counters since a clear, at every limit. Sources beside each table.
import type { MonitorId } from '@tallybay/contracts';
import {
  CALIFORNIA_HEAVY_PHASE_2,
  CALIFORNIA_PERMANENT_CODES,
  CODES_RULE,
  findClears,
  judgeLamp,
  judgeMonitors,
  judgeOperation,
  judgePermanentCodes,
  MONITOR_RULES,
} from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { DAY, snapshotFact } from './facts-builder.js';

type Rule = keyof typeof MONITOR_RULES;
const ANY: readonly MonitorId[] = ['catalyst', 'evap', 'o2_sensor'];

// 16 CCR 3340.42.2(b) and douglasma.org (read); BAR standard of 2015 and the later edition by secondary pages (read).
describe('monitors that may be incomplete', () => {
  it.each<[Rule, number, 'gas' | 'diesel', readonly MonitorId[], string]>([
    ['federal-2-1', 1995, 'gas', [], 'not_subject'],
    ['federal-2-1', 1995, 'gas', ANY, 'not_subject'],
    ['federal-2-1', 1996, 'gas', [], 'ready'],
    ['federal-2-1', 1996, 'gas', ANY.slice(0, 2), 'ready'],
    ['federal-2-1', 1996, 'diesel', ANY, 'not_ready'],
    ['federal-2-1', 2000, 'gas', ANY.slice(0, 2), 'ready'],
    ['federal-2-1', 2000, 'gas', ANY, 'not_ready'],
    ['federal-2-1', 2001, 'gas', ANY.slice(0, 1), 'ready'],
    ['federal-2-1', 2001, 'gas', ANY.slice(0, 2), 'not_ready'],
    ['federal-2-1', 2026, 'diesel', ['pm_filter'], 'ready'],
    // continuous monitors are not counted
    ['federal-2-1', 2001, 'gas', ['misfire', 'fuel_system', 'components', 'evap'], 'ready'],
    ...(['california-2015', 'california-current'] as const).flatMap<
      [Rule, number, 'gas' | 'diesel', readonly MonitorId[], string]
    >((rule) => [
      [rule, 1995, 'gas', [], 'not_subject'],
      [rule, 1996, 'gas', ['catalyst'], 'ready'],
      [rule, 1996, 'gas', ['catalyst', 'evap'], 'not_ready'],
      [rule, 1999, 'gas', ['o2_heater'], 'ready'],
      [rule, 2000, 'gas', [], 'ready'],
      [rule, 2000, 'gas', ['evap'], 'ready'],
      [rule, 2000, 'gas', ['o2_heater'], 'not_ready'],
      [rule, 2000, 'gas', ['evap', 'o2_heater'], 'not_ready'],
      [rule, 2026, 'gas', ['evap', 'misfire'], 'ready'],
      [rule, 1997, 'diesel', ['egr_vvt'], 'not_subject'],
      [rule, 1998, 'diesel', [], 'ready'],
      [rule, 1998, 'diesel', ['egr_vvt'], 'not_ready'],
      [rule, 2006, 'diesel', ['pm_filter'], 'not_ready'],
      [rule, 2007, 'diesel', ['pm_filter', 'nmhc_catalyst'], 'ready'],
      [rule, 2007, 'diesel', ['pm_filter', 'nmhc_catalyst', 'nox_scr'], 'not_ready'],
    ]),
    // where the two editions part
    ['california-2015', 2007, 'diesel', ['egr_vvt', 'nox_scr'], 'ready'],
    ['california-2015', 2007, 'diesel', ['egr_vvt'], 'ready'],
    ['california-current', 2007, 'diesel', ['egr_vvt', 'nox_scr'], 'not_ready'],
    ['california-current', 2007, 'diesel', ['egr_vvt'], 'not_ready'],
  ])('%s %i %s %j: %s', (rule, modelYear, fuel, incomplete, verdict) => {
    expect(judgeMonitors(MONITOR_RULES[rule], { modelYear, fuel }, incomplete).verdict).toBe(verdict);
  });
});

// BAR newsletter of spring 2019 (read); 15 warm-ups and 200 miles = 321.8688 km as quoted on a secondary page (read).
describe('permanent codes, California', () => {
  const MILES_200 = 321.8688;
  it.each([
    [2010, 0, true, 0, 0, 'pass'],
    [2009, 3, true, 0, 0, 'pass'],
    [2010, 1, false, 15, MILES_200, 'pass'],
    [2010, 1, false, 15, 322, 'pass'],
    [2010, 1, false, 15, 321, 'fail'],
    [2010, 1, false, 14, 65_535, 'fail'],
    [2010, 1, false, 255, 65_535, 'pass'],
    [2010, 1, true, 255, 65_535, 'fail'],
    [2010, 1, false, 0, 0, 'fail'],
    [2010, 1, false, null, 321, 'fail'],
    [2010, 1, false, 14, null, 'fail'],
    [2010, 1, false, null, 322, 'unknown'],
    [2010, 1, false, 15, null, 'unknown'],
    [2010, 1, false, null, null, 'unknown'],
  ] as const)(
    'MY %i, %i codes, lamp %s, %s warm-ups, %s km: %s',
    (modelYear, permanentCodes, lampOn, warm, km, verdict) => {
      const facts = { modelYear, permanentCodes, lampOn, warmUpsSinceClear: warm, distanceSinceClearKm: km };
      expect(judgePermanentCodes(CALIFORNIA_PERMANENT_CODES, facts)).toBe(verdict);
    },
  );
});

// bayareadieseltesting.com quoting CARB (read): 5 (15) warm-ups; else 100 (300) miles; else 200 (600) minutes.
describe('operation since clear, California heavy duty', () => {
  it.each([
    [0, 5, null, null, 'met'],
    [0, 4, 65_535, 65_535, 'not_met'], // recorded warm-ups decide alone
    [1, 14, null, null, 'not_met'],
    [1, 15, null, null, 'met'],
    [0, null, 160.9344, null, 'met'],
    [0, null, 160, 65_535, 'not_met'],
    [0, null, 161, null, 'met'],
    [2, null, 482.8032, null, 'met'],
    [2, null, 482, null, 'not_met'],
    [0, null, null, 200, 'met'],
    [0, null, null, 199, 'not_met'],
    [1, null, null, 599, 'not_met'],
    [1, null, null, 600, 'met'],
    [0, null, null, null, 'unknown'],
    [0, 0, 0, 0, 'not_met'],
  ] as const)('%i permanent, %s warm-ups, %s km, %s min: %s', (permanentCodes, warm, km, minutes, verdict) => {
    const counters = { warmUpsSinceClear: warm, distanceSinceClearKm: km, minutesSinceClear: minutes };
    expect(judgeOperation(CALIFORNIA_HEAVY_PHASE_2, { permanentCodes, ...counters })).toBe(verdict);
  });
});

// 40 CFR 85.2207 (a) to (c) (read)
describe('connector and lamp, federal', () => {
  it.each([
    [{ lampOn: false, storedCodes: 0 }, 'pass'],
    [{ lampOn: false, storedCodes: 2 }, 'pass'], // the lamp is not commanded
    [{ lampOn: true, storedCodes: 1 }, 'fail'],
    [{ lampOn: true, storedCodes: 0 }, 'fail_or_refuse'],
    [{ lampOn: true, storedCodes: 0, lampVisible: false }, 'fail'],
    [{ lampOn: false, storedCodes: 0, lampVisible: false }, 'pass'],
    [{ lampOn: false, storedCodes: 0, connectorOk: false }, 'fail'],
    [{ lampOn: true, storedCodes: 0, lampVisible: true, connectorOk: true }, 'fail_or_refuse'],
  ] as const)('%j: %s', (facts, verdict) => {
    expect(judgeLamp(facts)).toBe(verdict);
  });
});

// SAE J1979, from memory: a clear sets 30, 31 and 4E to 0; they stop at full scale and do not wrap.
describe('a clear shows as any counter that went down', () => {
  type Read = [warm: number | null, km: number | null, minutes: number | null];
  it.each<[string, Read[], [after: number, before: number][]]>([
    [
      'warm-ups',
      [
        [30, null, null],
        [2, null, null],
      ],
      [[0, 1]],
    ],
    [
      'distance',
      [
        [null, 900, null],
        [null, 899, null],
      ],
      [[0, 1]],
    ],
    [
      'minutes',
      [
        [null, null, 60],
        [null, null, 0],
      ],
      [[0, 1]],
    ],
    [
      'one of three',
      [
        [5, 100, 60],
        [6, 120, 10],
      ],
      [[0, 1]],
    ],
    [
      'standing still',
      [
        [5, 100, 60],
        [5, 100, 60],
      ],
      [],
    ],
    [
      'full scale',
      [
        [255, 65_535, 65_535],
        [255, 65_535, 65_535],
      ],
      [],
    ],
    [
      'to full scale',
      [
        [254, 65_000, 65_000],
        [255, 65_535, 65_535],
      ],
      [],
    ],
    [
      'short trips',
      [
        [0, 5, 20],
        [0, 12, 44],
      ],
      [],
    ],
    [
      'twice',
      [
        [9, null, null],
        [1, null, null],
        [4, null, null],
        [0, null, null],
      ],
      [
        [0, 1],
        [2, 3],
      ],
    ],
    [
      'nothing read between',
      [
        [9, null, null],
        [null, null, null],
        [1, null, null],
      ],
      [[0, 2]],
    ],
    [
      'another counter read between',
      [
        [50, null, null],
        [null, 10, null],
        [2, null, null],
      ],
      [[0, 2]],
    ],
    [
      'two counters, one clear',
      [
        [50, 800, null],
        [1, null, null],
        [null, 30, null],
      ],
      [[0, 1]],
    ],
  ])('%s', (_, reads, expected) => {
    const facts = reads.map(([warmUpsSinceClear, distanceSinceClearKm, minutesSinceClear], index) =>
      snapshotFact({ atMs: index * DAY, counters: { warmUpsSinceClear, distanceSinceClearKm, minutesSinceClear } }),
    );
    const clears = findClears(facts, CODES_RULE).map(({ afterMs, beforeMs }) => [afterMs / DAY, beforeMs / DAY]);
    expect(clears).toEqual(expected);
  });
});
