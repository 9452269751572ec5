// Sizes: calculatorsandmore.com, dodgeforum.com thread 9778 (read); UN R39 from memory.
import { checkSpeedometer, decodeTyre, engineSpeedRpm, speedCorrectionFactor } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

const size = (text: string) => {
  const result = decodeTyre(text);
  if (!result.ok) throw new Error(result.problem.detail);
  return result.value;
};
const factor = (oldTyre: string, newTyre: string, oldAxleRatio?: number, newAxleRatio?: number) => {
  const result = speedCorrectionFactor({ oldTyre, newTyre, oldAxleRatio, newAxleRatio });
  return result.ok ? result.value : result.problem.code;
};

describe('decodeTyre', () => {
  it.each([
    ['225/45R17', 634.3, 807.6],
    ['265/70R17', 802.8, 638.1],
    ['225/70R19.5', 810.3, 632.2],
  ])('%s', (text, diameterMm, revsPerMile) => {
    expect(size(text).diameterMm).toBeCloseTo(diameterMm, 6);
    expect(size(text).revsPerMile).toBeCloseTo(revsPerMile, 1);
  });

  it.each([
    'LT245/75R16',
    'P245/75R16',
    'p 245 / 75 r 16',
    '245/75ZR16',
    '245/75R16 120/116S',
    '245/75R16LT',
    '245/75R16C 120/116R',
  ])('%s is as large as 245/75R16', (text) => {
    expect(size(text).diameterMm).toBeCloseTo(773.9, 6);
  });

  it.each(['', '245', '245/75', '245/75R', '999/999R99', '31x10.5R15', '245/75R16\u0000\u0000x'.repeat(3)])(
    'refuses %j',
    (text) => {
      expect(decodeTyre(text)).toMatchObject({ ok: false, problem: { code: 'tyre_malformed' } });
    },
  );
});

describe('speed correction', () => {
  it('follows diameter and final drive', () => {
    expect(60 * Number(factor('245/75R16', '285/75R16'))).toBeCloseTo(64.65, 2);
    expect(60 * Number(factor('245/75R16', '245/75R16', 3.73, 4.1))).toBeCloseTo(54.59, 2);
    expect(60 * Number(factor('245/75R16', '285/75R16', 3.73, 4.1))).toBeCloseTo(58.82, 2);
    expect(factor('245/75R16', '245/75R16')).toBe(1);
  });

  it('refuses a ratio that is none', () => {
    expect(factor('245/75R16', '245/75R16', 0, 4.1)).toBe('ratio_invalid');
    expect(factor('x', '245/75R16')).toBe('tyre_malformed');
    expect(engineSpeedRpm({ speedKmh: 100, tyre: '245/75R16', axleRatio: 3.73, gearRatio: Number.NaN }).ok).toBe(false);
  });

  it('holds a speedometer to 0 <= indicated - true <= 0.1 true + 4', () => {
    expect(checkSpeedometer(100, 100)).toMatchObject({ ok: true, limitKmh: 14 });
    expect(checkSpeedometer(114, 100).ok).toBe(true);
    expect(checkSpeedometer(114.1, 100).ok).toBe(false);
    expect(checkSpeedometer(99.9, 100).ok).toBe(false);
  });
});
