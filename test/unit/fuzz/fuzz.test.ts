// A short run of the fuzz script (npm run fuzz gives 1,000,000 inputs); any bytes yield a value or a typed problem.
import { describe, expect, it } from 'vitest';
import { fuzz } from '../../fuzz/fuzz.js';

describe('random inputs', () => {
  it('give a value or a typed problem from every decoder, never a throw or NaN', () => {
    const { counts, failures } = fuzz(6_000, 20_261_125);
    expect(failures).toEqual([]);
    expect(counts.every((count) => count.inputs > 200)).toBe(true);
  });

  it('are caught when they do: a planted throw and a planted NaN', () => {
    const planted = [
      {
        name: 'planted throw',
        run: () => {
          throw new Error('planted');
        },
      },
      { name: 'planted NaN', run: () => ({ deep: [Number.NaN] }) },
    ];
    const { failures } = fuzz(2, 1, planted);
    expect(failures.map((failure) => failure.target)).toEqual(['planted throw', 'planted NaN']);
  });
});
