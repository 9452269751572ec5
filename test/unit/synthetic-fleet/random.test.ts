import { RandomStream } from '@tallybay/synthetic-fleet';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('RandomStream', () => {
  it('gives the same numbers for the same name, and others for a near name', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 20 }), (name) => {
        const draw = (key: string) =>
          Array.from(
            { length: 4 },
            (
              (stream) => () =>
                stream.next()
            )(new RandomStream(key)),
          );
        expect(draw(name)).toEqual(draw(name));
        expect(draw(name)).not.toEqual(draw(`${name}1`));
      }),
    );
  });

  it('splits by name alone: draws before do not matter', () => {
    const fresh = new RandomStream('a').split('b', 1).next();
    const used = new RandomStream('a');
    for (let i = 0; i < 100; i += 1) used.next();
    expect(used.split('b', 1).next()).toBe(fresh);
  });

  it('is uniform enough: mean, and each tenth of the range (five standard errors)', () => {
    const stream = new RandomStream('uniform');
    const draws = Array.from({ length: 20_000 }, () => stream.next());
    expect(Math.abs(draws.reduce((sum, value) => sum + value, 0) / draws.length - 0.5)).toBeLessThan(0.0103);
    for (let tenth = 0; tenth < 10; tenth += 1) {
      const share = draws.filter((value) => Math.floor(value * 10) === tenth).length / draws.length;
      expect(Math.abs(share - 0.1)).toBeLessThan(0.0107);
    }
  });

  it('draws normal numbers of mean 0 and deviation 1 (five standard errors)', () => {
    const stream = new RandomStream('normal');
    const draws = Array.from({ length: 20_000 }, () => stream.normal());
    const mean = draws.reduce((sum, value) => sum + value, 0) / draws.length;
    const variance = draws.reduce((sum, value) => sum + (value - mean) ** 2, 0) / draws.length;
    expect(Math.abs(mean)).toBeLessThan(0.036);
    expect(Math.abs(variance - 1)).toBeLessThan(0.05);
  });
});
