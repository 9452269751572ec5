import { createAccumulator, type LogSummary, type SignalId, signalRow } from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesOf, readLog } from './read-log.js';

/** A log at one row a second: engine speed and coolant by functions of the second. */
function drive(
  seconds: number,
  rpm: (second: number) => number | string,
  coolant: (second: number) => number | string,
) {
  const rows = Array.from({ length: seconds + 1 }, (_, second) => `${second},${rpm(second)},${coolant(second)}`);
  return bytesOf(`Time (s),RPM,Coolant (C)\n${rows.join('\n')}\n`);
}

const busy = (second: number) => 900 + ((second * 137) % 900);
const stats = (summary: LogSummary, signal: SignalId) => summary.signals.find((row) => row.signal === signal);
const stages = { coolant_temp_c: ['95'] };

describe('a sensor that stands still', () => {
  const limit = signalRow('coolant_temp_c').stuckSeconds as number;

  it('counts as stuck, all of it, once the engine has worked past the limit', () => {
    const { summary } = readLog(
      drive(limit + 300, busy, () => 110),
      {},
      { stages },
    );
    const coolant = stats(summary, 'coolant_temp_c');
    expect(coolant).toMatchObject({ stuckSeconds: limit + 300, seconds: 0, mean: null, secondsAtOrAbove: { 95: 0 } });
    expect(coolant?.rejected).toEqual({ stuck: limit + 301 });
    expect(summary.dwell.filter(({ signal }) => signal === 'coolant_temp_c')).toEqual([]);
  });

  it('is believed below the limit, and while the engine idles evenly or is off', () => {
    const short = readLog(drive(limit - 10, busy, () => 90)).summary;
    expect(stats(short, 'coolant_temp_c')).toMatchObject({ stuckSeconds: 0, seconds: limit - 10 });
    const idle = readLog(
      drive(
        limit * 3,
        () => 700,
        () => 90,
      ),
    ).summary;
    expect(stats(idle, 'coolant_temp_c')).toMatchObject({ stuckSeconds: 0, seconds: limit * 3 });
    const parked = readLog(
      drive(
        limit * 3,
        () => 0,
        () => 20,
      ),
    ).summary;
    expect(stats(parked, 'coolant_temp_c')).toMatchObject({ stuckSeconds: 0, seconds: limit * 3 });
  });

  it('is stuck across short stops as well', () => {
    const rpm = (second: number) => (second % 600 < 30 ? 0 : busy(second));
    const { summary } = readLog(drive(limit + 600, rpm, () => 90));
    expect(stats(summary, 'coolant_temp_c')?.stuckSeconds).toBe(limit + 600);
  });
});

describe('a value that jumps', () => {
  it('is withheld while it lasts less than three values', () => {
    const { summary } = readLog(
      drive(100, busy, (second) => (second === 50 || second === 51 ? 180 : 90)),
      {},
      { stages },
    );
    const coolant = stats(summary, 'coolant_temp_c');
    expect(coolant?.rejected).toEqual({ jump: 2 });
    expect(coolant).toMatchObject({ max: 90, seconds: 100, secondsAtOrAbove: { 95: 0 } });
  });

  it('is believed from the third value that agrees', () => {
    const { summary } = readLog(
      drive(100, busy, (second) => (second < 50 ? 90 : 120)),
      {},
      { stages },
    );
    const coolant = stats(summary, 'coolant_temp_c');
    expect(coolant?.rejected).toEqual({ jump: 2 });
    expect(coolant).toMatchObject({ max: 120, seconds: 100, secondsAtOrAbove: { 95: 48 } });
  });

  it('leaves a warm-up and coarse steps alone', () => {
    const { summary } = readLog(drive(300, busy, (second) => Math.round(20 + second / 4)));
    expect(stats(summary, 'coolant_temp_c')?.rejected).toEqual({});
  });
});

describe('values out of range', () => {
  it('are counted and hold nothing: an open circuit reads -40', () => {
    const { summary } = readLog(drive(100, busy, (second) => (second >= 20 && second < 60 ? -40 : 90)));
    const coolant = stats(summary, 'coolant_temp_c');
    // 90 holds from second 19 only if the next valid row is within the limit: it is not.
    expect(coolant).toMatchObject({ rejected: { out_of_range: 40 }, blank: 0, valid: 61, min: 90, seconds: 59 });
    expect(summary.valuesRejectedBy).toEqual({ out_of_range: 40 });
  });
});

describe('segments', () => {
  it('alternate with the engine; a stop under a minute is part of the drive', () => {
    const rpm = (second: number) => {
      if (second < 20 || second >= 700) return 0;
      return second >= 100 && second < 150 ? 0 : second >= 300 && second < 400 ? 0 : busy(second);
    };
    const { summary } = readLog(drive(800, rpm, () => 90));
    expect(summary.segments.map(({ drive: number, startMs, endMs }) => [number, startMs / 1000, endMs / 1000])).toEqual(
      [
        [null, 0, 19],
        [1, 20, 299],
        [null, 300, 399],
        [2, 400, 699],
        [null, 700, 800],
      ],
    );
    expect(summary.segments.reduce((sum, { seconds }) => sum + seconds, 0)).toBe(800);
    expect(summary.segments.reduce((sum, { rows }) => sum + rows, 0)).toBe(801);
  });

  it('end at a long gap', () => {
    const bytes = bytesOf('Time (s),RPM\n0,800\n1,900\n400,800\n401,900\n');
    const { summary } = readLog(bytes);
    expect(summary.segments.map(({ drive: number, seconds }) => [number, seconds])).toEqual([
      [1, 1],
      [2, 1],
    ]);
    expect(summary).toMatchObject({ gaps: 1, longestGapSeconds: 399, countedSeconds: 2 });
  });

  it('are one drive each when nothing tells the engine', () => {
    const { summary } = readLog(bytesOf('Time (s),Coolant (C)\n0,80\n1,81\n400,80\n401,81\n'));
    expect(summary.segments.map(({ drive: number }) => number)).toEqual([1, 2]);
  });

  it('measure distance by the odometer if it moves, else by speed', () => {
    const bySpeed = readLog(bytesOf('Time (s),RPM,Speed (km/h)\n0,900,36\n1,900,36\n2,900,36\n')).summary;
    expect(bySpeed.segments[0]).toMatchObject({ distanceKm: 0.02, distanceSource: 'speed' });
    const byOdometer = readLog(
      bytesOf('Time (s),RPM,Speed (km/h),Odometer (km)\n0,900,36,100\n1,900,36,100.1\n'),
    ).summary;
    expect(byOdometer.segments[0]?.distanceKm).toBeCloseTo(0.1, 9);
    expect(byOdometer.segments[0]?.distanceSource).toBe('odometer');
  });
});

describe('dwell', () => {
  it('adds up to the counted seconds, and gives exposure at every edge', () => {
    const tenths = fc.array(fc.integer({ min: 700, max: 1300 }), { minLength: 2, maxLength: 60 });
    fc.assert(
      fc.property(tenths, (values) => {
        const bytes = bytesOf(
          `Time (s),Oil Temp (C)\n${values.map((value, at) => `${at},${value / 10}`).join('\n')}\n`,
        );
        const { summary } = readLog(bytes, {}, { stages: { engine_oil_temp_c: ['100', '82.5'] } });
        const oil = stats(summary, 'engine_oil_temp_c');
        const total = summary.dwell.reduce((sum, row) => sum + row.seconds, 0);
        expect(total).toBeCloseTo(oil?.seconds ?? Number.NaN, 9);
        for (const stage of ['100', '82.5']) {
          const above = summary.dwell.filter(({ low }) => low >= Number(stage));
          expect(above.reduce((sum, row) => sum + row.seconds, 0)).toBeCloseTo(
            oil?.secondsAtOrAbove[stage] ?? Number.NaN,
            9,
          );
        }
        for (const row of summary.dwell) {
          expect(row.low <= row.min && row.min <= row.max && row.max < row.high).toBe(true);
          expect(row.valueSeconds / row.seconds).toBeGreaterThanOrEqual(row.min - 1e-9);
          expect(row.valueSeconds / row.seconds).toBeLessThanOrEqual(row.max + 1e-9);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('is the same in Fahrenheit, on the edge as well', () => {
    const celsius = readLog(
      bytesOf('Time (s),ECT (C)\n0,82\n1,81.9\n2,82\n3,82\n'),
      {},
      { stages: { coolant_temp_c: ['82'] } },
    );
    const fahrenheit = readLog(
      bytesOf('Time (s),ECT (F)\n0,179.6\n1,179.42\n2,179.6\n3,179.6\n'),
      {},
      { stages: { coolant_temp_c: ['82'] } },
    );
    expect(fahrenheit.summary.dwell).toEqual(celsius.summary.dwell);
    expect(stats(fahrenheit.summary, 'coolant_temp_c')?.secondsAtOrAbove).toEqual({ 82: 2 });
  });
});

describe('what is asked', () => {
  const { plan } = readLog(drive(5, busy, () => 90));

  it('must be numbers of known signals', () => {
    expect(() => createAccumulator(plan, { stages: { coolant_temp_c: ['hot'] } })).toThrow(/"hot" of coolant_temp_c/);
    expect(() => createAccumulator(plan, { stages: { nonsense: ['1'] } as never })).toThrow(/"nonsense"/);
    expect(() => createAccumulator(plan, { holdSeconds: 0 })).toThrow(/hold limit of 0/);
  });

  it('may hold values for longer', () => {
    const bytes = bytesOf('Time (s),Coolant (C)\n0,90\n8,90\n');
    expect(stats(readLog(bytes).summary, 'coolant_temp_c')?.seconds).toBe(0);
    expect(stats(readLog(bytes, {}, { holdSeconds: 10 }).summary, 'coolant_temp_c')?.seconds).toBe(8);
  });
});
