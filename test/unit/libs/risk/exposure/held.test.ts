import { heldValue } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';

const bin = (low: number, seconds: number, min = low, max = low + 0.5) => ({ low, min, max, seconds });

describe('the highest value that was held for a time', () => {
  it('counts from the hottest bin down and lies within the one where the time is full', () => {
    // 20 s above 100, then 40 of the 80 s between 99 and 99.4: half of that bin.
    const bins = [bin(90, 3_000), bin(99, 80, 99, 99.4), bin(100, 20)];
    expect(heldValue(bins, 60)).toBeCloseTo(99.2, 9);
    expect(heldValue([...bins].reverse(), 60)).toBeCloseTo(99.2, 9);
  });

  it('does not see a single reading', () => {
    expect(heldValue([bin(95, 600, 95, 95), bin(120, 1, 120, 120)], 60)).toBe(95);
    expect(heldValue([bin(95, 600, 95, 95), bin(120, 60, 120, 120)], 60)).toBe(120);
  });

  it('is not known of less time', () => {
    expect(heldValue([bin(95, 59)], 60)).toBeNull();
    expect(heldValue([], 60)).toBeNull();
  });
});
