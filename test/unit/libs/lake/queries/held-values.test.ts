import { heldValues, Lake } from '@tallybay/lake';
import { heldValue } from '@tallybay/risk';
import fc from 'fast-check';
import { expect, it, onTestFinished } from 'vitest';
import { putRows, temporaryLake } from '../lake-builder.js';

const START = Date.parse('2026-10-05T08:00:00Z');

it('is in SQL what the pure function says of the same bins, over all segments of a drive', async () => {
  const rows = fc.sample(
    fc.array(
      fc.record({
        step: fc.integer({ min: 0, max: 12 }),
        seconds: fc.integer({ min: 1, max: 90 }),
        segment: fc.constantFrom(1, 2),
      }),
      { minLength: 1, maxLength: 14 },
    ),
    { numRuns: 40, seed: 7 },
  );
  const directory = temporaryLake();
  const drives = rows.map((bins, index) => ({
    id: `d${index}`,
    // One row a bin of a segment, as the accumulator writes them.
    bins: [...new Map(bins.map((bin) => [`${bin.segment} ${bin.step}`, bin])).values()].map(
      ({ step, seconds, segment }) => ({
        ...{ segment, seconds, low: 90 + step / 2, min: 90.1 + step / 2, max: 90.4 + step / 2 },
      }),
    ),
  }));
  for (const { id, bins } of drives)
    putRows(
      directory,
      'dwell',
      { vehicle: 'KV-1', upload: id },
      bins.map((bin) => ({
        ...{ ...bin, drive_id: id, started_at: START, signal: 'coolant_temp_c' },
        ...{ high: bin.low + 0.5, value_seconds: bin.low * bin.seconds },
      })),
    );
  const lake = await Lake.open(directory, { threads: 1 });
  onTestFinished(() => lake.close());
  const span = { fromMs: START, toMs: START + 1, heldSeconds: 60 };
  const found = await heldValues(lake, span, ['coolant_temp_c', 'engine_oil_temp_c']);
  for (const { id, bins } of drives) {
    const steps = [...Map.groupBy(bins, ({ low }) => low).values()];
    const merged = steps.map((list) => ({ ...list[0]!, seconds: list.reduce((sum, { seconds }) => sum + seconds, 0) }));
    const held = heldValue(merged, 60);
    if (held === null) expect(found.get(id), id).toBeUndefined();
    else expect(found.get(id)?.coolant_temp_c, id).toBeCloseTo(held, 9);
  }
  expect(found.size).toBeGreaterThan(20);
  expect(found.size).toBeLessThan(drives.length);
  expect(await heldValues(lake, { ...span, fromMs: START + 1, toMs: START + 2 }, ['coolant_temp_c'])).toEqual(
    new Map(),
  );
});
