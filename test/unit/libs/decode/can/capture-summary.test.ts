// The truck's capture (test/fixtures/can/truck, MIT) through the accumulator: what inspect shows.
import { readFileSync } from 'node:fs';
import { createAccumulator, createCandumpReader, planCandump, withCaptureCounts } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

const bytes = readFileSync(new URL('../../../../fixtures/can/truck/2022-03-29_idle-with-gap.log', import.meta.url));

describe('withCaptureCounts', () => {
  const planned = planCandump(bytes.subarray(0, 256 * 1024));
  if (!planned.ok) throw new Error(planned.problem.detail);
  const accumulator = createAccumulator(planned.plan);
  const reader = createCandumpReader(planned.plan, (batch) => accumulator.add(batch));
  reader.push(bytes);
  const summary = withCaptureCounts(accumulator.finish(reader.finish()), reader.report(), planned.plan);
  const stats = (id: string) => summary.signals.find((signal) => signal.signal === id);

  it('counts the gaps and the span of the whole capture, not of one sender', () => {
    expect(summary).toMatchObject({ rows: 19_535, gaps: 2, backwardSteps: 0 });
    expect(summary.longestGapSeconds).toBeCloseTo(2624.578, 3);
    expect(((summary.lastMs ?? 0) - (summary.firstMs ?? 0)) / 1000).toBeCloseTo(3262.478, 2);
  });

  it('takes "not available" for blank, and nothing else', () => {
    expect(stats('coolant_temp_c')).toMatchObject({ valid: 53, blank: 0, min: 64, max: 65 });
    expect(stats('fuel_temp_c')).toMatchObject({ valid: 0, blank: 53, min: null });
  });

  it('leaves out what nobody sent', () => {
    expect(stats('odometer_km')).toBeUndefined();
    expect(stats('trans_fluid_temp_c')).toBeUndefined();
  });
});
