// Rule of thumb for transmission fluid: life halves per +20 °F above 175 °F (public pages, no standard).
import { AGEING_ROWS, celsiusFromFahrenheit, fluidAgeing } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';

const row = AGEING_ROWS[0]!;
const bin = (degF: number, hours: number) => {
  const low = celsiusFromFahrenheit(degF);
  return { low, seconds: hours * 3600, valueSeconds: low * hours * 3600 };
};

describe('fluid ageing from dwell', () => {
  it('2 h at 215 °F age like 8 h at 175 °F; time below the reference does not count', () => {
    const ageing = fluidAgeing([bin(215, 2), bin(150, 40)], row, null);
    expect(ageing).toMatchObject({ hoursAbove: 2, lifeShare: null });
    expect(ageing.equivalentHours).toBeCloseTo(8, 9);
  });

  it('the published profile: 2 h at 175, 1 at 195, 0.5 at 215, 4 at 150 are 6 equivalent hours', () => {
    const bins = [bin(175, 2), bin(195, 1), bin(215, 0.5), bin(150, 4)];
    expect(fluidAgeing(bins, row, null).equivalentHours).toBeCloseTo(6, 9);
  });

  it('Arrhenius agrees at one step and is the lower one far above', () => {
    const near = fluidAgeing([bin(195, 1)], row, null);
    expect(near.arrheniusHours).toBeCloseTo(2, 2);
    const far = fluidAgeing([bin(295, 1)], row, null);
    expect(far.arrheniusHours).toBeLessThan(far.equivalentHours);
  });

  it('life: 100,000 miles at the reference are one life, at one step above half of the way', () => {
    const hours = 100_000 * 1.609344 * (1 / 50);
    expect(fluidAgeing([bin(175, hours)], row, 50).lifeShare).toBeCloseTo(1, 9);
    expect(fluidAgeing([bin(195, hours / 2)], row, 50).lifeShare).toBeCloseTo(1, 9);
  });
});
