// Hysteresis, minimum length and hold: our own rules, as for episodes; no source.
import type { SignalId } from '@tallybay/decode';
import { CrossingTracker, EpisodeCutter, type LimitCrossing, type VehicleLimit } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const START = Date.UTC(2026, 9, 6, 14);

const limit = (change: Partial<VehicleLimit> = {}): VehicleLimit => ({
  ...{ signal: 'engine_oil_pressure_kpa', direction: 'low', stage: 'alarm', limit: 70, written: '70 kPa' },
  ...{ hysteresis: 20, minSeconds: 3, during: 'always' },
  ...change,
});

interface Row {
  seconds: number;
  values: Partial<Record<SignalId, number>>;
}

/** Rows in batches that end after each of `cuts` rows. */
function crossings(limits: VehicleLimit[], signals: SignalId[], rows: readonly Row[], cuts: readonly number[] = []) {
  const tracker = new CrossingTracker(limits, signals);
  const ends = [...new Set([...cuts.map((cut) => cut % (rows.length + 1)), rows.length])].sort((a, b) => a - b);
  let from = 0;
  for (const end of ends) {
    const part = rows.slice(from, end);
    tracker.add({
      rowCount: part.length,
      timeMs: Float64Array.from(part, ({ seconds }) => START + seconds * 1000),
      values: signals.map((signal) => Float64Array.from(part, ({ values }) => values[signal] ?? Number.NaN)),
    });
    from = end;
  }
  return tracker.finish();
}

const shape = (found: readonly LimitCrossing[]) =>
  found.map(({ limit: { stage }, startMs, endMs, seconds, worst, worstAtMs }) => ({
    ...{ stage, from: (startMs - START) / 1000, to: (endMs - START) / 1000, seconds, worst },
    worstAt: (worstAtMs - START) / 1000,
  }));

const PRESSURE: SignalId = 'engine_oil_pressure_kpa';
const oil = (values: readonly (number | undefined)[]): Row[] =>
  values.map((value, seconds) => ({ seconds, values: value === undefined ? {} : { [PRESSURE]: value } }));

describe('crossings of a limit', () => {
  it('last from the limit to past the hysteresis, with the worst value and when it was', () => {
    const rows = oil([300, 120, 70, 60, 40, 55, 80, 85, 69, 90.1, 300]);
    expect(shape(crossings([limit()], [PRESSURE], rows))).toEqual([
      { stage: 'alarm', from: 2, to: 9, seconds: 5, worst: 40, worstAt: 4 },
    ]);
  });

  it('do not flutter about the limit, and short ones are dropped', () => {
    const fluttering = oil(Array.from({ length: 60 }, (_item, index) => (index % 2 ? 69 : 85)));
    expect(crossings([limit()], [PRESSURE], fluttering)).toHaveLength(1);
    expect(crossings([limit({ hysteresis: 0 })], [PRESSURE], fluttering)).toEqual([]);
    const short = oil([300, 60, 60, 300, 300]);
    expect(crossings([limit()], [PRESSURE], short)).toEqual([]);
    expect(crossings([limit({ minSeconds: 2 })], [PRESSURE], short)).toHaveLength(1);
  });

  it('end at a gap and where the clock steps back', () => {
    const rows = [
      ...oil([60, 60, 60, 60, 60]),
      { seconds: 30, values: { [PRESSURE]: 50 } },
      { seconds: 34, values: { [PRESSURE]: 50 } },
      { seconds: 10, values: { [PRESSURE]: 45 } },
      { seconds: 14, values: { [PRESSURE]: 45 } },
    ];
    expect(shape(crossings([limit()], [PRESSURE], rows)).map(({ from, to, worst }) => [from, to, worst])).toEqual([
      [0, 4, 60],
      [10, 14, 45],
      [30, 34, 50],
    ]);
  });

  it('count only while the engine runs where the limit says so: a stopped engine has no oil pressure', () => {
    const rows = Array.from({ length: 40 }, (_item, seconds): Row => {
      const rpm = seconds < 20 ? 1500 : 0;
      return { seconds, values: { engine_speed_rpm: rpm, [PRESSURE]: seconds < 10 ? 300 : seconds < 20 ? 50 : 0 } };
    });
    const signals: SignalId[] = ['engine_speed_rpm', PRESSURE];
    expect(shape(crossings([limit({ during: 'running' })], signals, rows))).toEqual([
      { stage: 'alarm', from: 10, to: 20, seconds: 10, worst: 50, worstAt: 10 },
    ]);
    expect(shape(crossings([limit()], signals, rows))[0]).toMatchObject({ to: 39, worst: 0 });
  });

  it('are found for each stage by itself, and not for signals that the log lacks', () => {
    const limits = [limit({ stage: 'caution', limit: 100 }), limit(), limit({ signal: 'coolant_temp_c' })];
    const rows = oil([300, 95, 95, 60, 60, 60, 60, 95, 95, 200]);
    expect(shape(crossings(limits, [PRESSURE], rows)).map(({ stage, seconds }) => [stage, seconds])).toEqual([
      ['caution', 8],
      ['alarm', 4],
    ]);
    expect(new CrossingTracker([limit({ signal: 'coolant_temp_c' })], [PRESSURE]).watches).toBe(false);
  });
});

const anyRows = fc
  .array(
    fc.record({
      step: fc.constantFrom(0, 0.5, 1, 1, 1, 2, 6, -3),
      value: fc.option(fc.integer({ min: 40, max: 110 }), { nil: undefined, freq: 5 }),
      rpm: fc.constantFrom(0, 300, 900),
    }),
    { maxLength: 120 },
  )
  .map((list) => {
    let seconds = 0;
    return list.map(({ step, value, rpm }): Row => {
      seconds += step;
      return { seconds, values: { engine_speed_rpm: rpm, ...(value === undefined ? {} : { [PRESSURE]: value }) } };
    });
  });
const SIGNALS: SignalId[] = ['engine_speed_rpm', PRESSURE];

it('the crossings do not depend on where batches are cut', () => {
  const limits = [limit({ during: 'running' }), limit({ direction: 'high', limit: 95, stage: 'caution' })];
  fc.assert(
    fc.property(anyRows, fc.array(fc.nat(), { maxLength: 6 }), (rows, cuts) => {
      expect(crossings(limits, SIGNALS, rows, cuts)).toEqual(crossings(limits, SIGNALS, rows));
    }),
  );
});

it('a crossing is what an episode of the same limit is, while the clock goes forward', () => {
  fc.assert(
    fc.property(anyRows, (rows) => {
      const forward = rows.filter(({ seconds }, index) =>
        rows.slice(0, index).every((before) => before.seconds < seconds),
      );
      const high = limit({ direction: 'high', limit: 90, hysteresis: 5, minSeconds: 1 });
      const cutter = new EpisodeCutter({ side: 'high', limit: 90, hysteresis: 5, minSeconds: 1, holdSeconds: 5 });
      for (const { seconds, values } of forward) cutter.push(START + seconds * 1000, values[PRESSURE] ?? Number.NaN);
      const plain = ({ startMs, endMs, seconds, worst, worstAtMs }: Omit<LimitCrossing, 'limit' | 'context'>) => ({
        ...{ startMs, endMs, seconds, worst, worstAtMs },
      });
      expect(crossings([high], SIGNALS, forward).map(plain)).toEqual(cutter.finish().map(plain));
    }),
  );
});
