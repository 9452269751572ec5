// Kaplan and Meier (1958); data: remission under 6-mercaptopurine, Freireich et al. (1963), from memory as in many textbooks.
import { kaplanMeier, survivingAt, type Watched, waitingAfter } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const watch = (ended: number, happened: boolean, entered = 0): Watched => ({ entered, ended, happened, weight: 1 });

const REMISSION = [
  ...[6, 6, 6, 7, 10, 13, 16, 22, 23].map((week) => watch(week, true)),
  ...[6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35].map((week) => watch(week, false)),
];

describe('Kaplan-Meier', () => {
  it('gives the published survival of the 6-MP group', () => {
    const curve = kaplanMeier(REMISSION);
    const published = { 6: 0.857, 7: 0.807, 10: 0.753, 13: 0.69, 16: 0.627, 22: 0.538, 23: 0.448 };
    for (const [week, share] of Object.entries(published))
      expect(survivingAt(curve, Number(week))).toBeCloseTo(share, 3);
    expect(survivingAt(curve, 5.9)).toBe(1);
  });

  it('conditional on having waited: the quotient of the survivals', () => {
    const all = kaplanMeier(REMISSION);
    const later = kaplanMeier(REMISSION, 10);
    expect(survivingAt(later, 23)).toBeCloseTo(survivingAt(all, 23) / survivingAt(all, 10), 12);
  });

  it('a watch that began late does not count before', () => {
    const late = [watch(5, true), watch(8, true, 6), watch(9, false)];
    expect(survivingAt(kaplanMeier(late), 5)).toBeCloseTo(1 / 2, 12);
    expect(waitingAfter(late, 5)).toBe(1);
    expect(waitingAfter(late, 6)).toBe(2);
  });

  it('never rises, stays in 0..1, and weights in one proportion change nothing', () => {
    const anyWatch = fc.record({
      ended: fc.integer({ min: 1, max: 30 }),
      happened: fc.boolean(),
      entered: fc.constant(0),
      weight: fc.constant(1),
    });
    fc.assert(
      fc.property(
        fc.array(anyWatch, { minLength: 1, maxLength: 30 }),
        fc.double({ min: 0.01, max: 1, noNaN: true }),
        (list, part) => {
          const curve = kaplanMeier(list);
          let before = 1;
          for (const { surviving } of curve) {
            expect(surviving).toBeLessThanOrEqual(before + 1e-12);
            expect(surviving).toBeGreaterThanOrEqual(-1e-12);
            before = surviving;
          }
          const lighter = kaplanMeier(list.map((item) => ({ ...item, weight: part })));
          for (const [index, step] of lighter.entries()) expect(step.surviving).toBeCloseTo(curve[index]!.surviving, 9);
        },
      ),
    );
  });
});
