// What a shop tells a driver: common practice, no source. A clear resets the monitors (SAE J1979, from memory).
import type { MonitorId, Vehicle } from '@tallybay/contracts';
import {
  CODES_RULE,
  completionHistory,
  DEFAULT_RULES,
  FORECAST_RULE,
  forecastReadiness,
  hiddenClear,
  MONITOR_DRIVING,
  PROGRAMMES,
  pooledHistory,
  readinessAdvice,
  readinessVerdict,
  type SnapshotFact,
} from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { DAY, type SnapshotPlan, snapshotFact } from '../facts-builder.js';

const vehicle: Vehicle = { id: 'v', vehicleClass: 'van', depot: 'north', modelYear: 2015, fuel: 'gas' };
const at = (day: number, open: MonitorId[], warmUps: number, plan: Omit<SnapshotPlan, 'atMs'> = {}): SnapshotFact => {
  const base = snapshotFact({ atMs: day * DAY, counters: { warmUpsSinceClear: warmUps }, ...plan });
  return { ...base, monitors: base.monitors.map((item) => ({ ...item, complete: !open.includes(item.id) })) };
};
const judged = (snapshots: SnapshotFact[], asOfDay: number) => {
  const verdict = readinessVerdict(PROGRAMMES[0]!, vehicle, snapshots);
  const hidden = hiddenClear(snapshots, { verdict, asOfMs: asOfDay * DAY }, DEFAULT_RULES);
  const rules = { codes: CODES_RULE, forecast: FORECAST_RULE };
  const history = { own: completionHistory(snapshots, rules), others: pooledHistory([]) };
  const forecast = forecastReadiness(snapshots, history, (asOfDay + 14) * DAY, rules);
  const at = { verdict, forecast, hidden, asOfMs: asOfDay * DAY, staleDays: 35 };
  return { verdict, hidden, advice: readinessAdvice(at) };
};

describe('a hidden clear', () => {
  const before = at(1, [], 90, { codes: [['P0420', 'confirmed']], change: { lampOn: true } });

  it('names the codes that it took, the snapshot that shows it and the span it lies in', () => {
    const { hidden } = judged([before, at(8, ['catalyst', 'evap'], 4)], 9);
    expect(hidden).toMatchObject({ atMs: 8 * DAY, sinceMs: DAY, codes: ['P0420'], uploadId: `s-${8 * DAY}` });
    expect(hidden!.text).toContain('warm-ups since clear went from 90 to 4');
  });

  it('is none once the monitors have completed, and is seen in one snapshot alone when it is fresh', () => {
    expect(judged([before, at(8, [], 20)], 9).hidden).toBeNull();
    const fresh = judged([at(8, ['catalyst', 'evap', 'o2_sensor'], 1)], 9).hidden;
    expect(fresh).toMatchObject({ sinceMs: null, codes: [] });
  });
});

describe('advice', () => {
  it('is to repair, to ask what was cleared, to drive as usual and read again; never a way around the test', () => {
    const lamp = { codes: [['P0420', 'confirmed']] as NonNullable<SnapshotPlan['codes']>, change: { lampOn: true } };
    const failing = judged([at(1, [], 90, lamp), at(8, ['catalyst'], 5, lamp)], 9).advice;
    expect(failing[0]).toMatch(/^Find and repair what set the codes\./);
    const cleared = judged([at(1, [], 90, lamp), at(8, ['catalyst', 'evap'], 4)], 9).advice;
    expect(cleared[0]).toContain('Find out whether what set P0420 was repaired');
    expect(cleared.at(-1)).toContain('Drive as usual and read the monitors again');
    for (const text of [...failing, ...cleared, ...Object.values(MONITOR_DRIVING)])
      expect(text).not.toMatch(/unplug|bypass|simulat|defeat|disable/i);
  });

  it('is to read first where nothing or nothing new is known', () => {
    expect(judged([], 9).advice).toEqual(['Read the codes and monitors: nothing is known of this vehicle.']);
    expect(judged([at(1, [], 90)], 50).advice).toEqual([
      'The newest reading is 49 days old: read again before relying on what it says.',
    ]);
  });

  it('a ready vehicle needs none', () => {
    expect(judged([at(1, [], 90)], 2).advice).toEqual([]);
  });
});
