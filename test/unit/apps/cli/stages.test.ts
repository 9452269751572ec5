import { TallybayError } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import { asAsked, canonicalStages, parseStages } from '../../../../apps/cli/src/inspect/stages.js';

describe('--stage', () => {
  it('reads several stages of several signals', () => {
    const stages = parseStages(['coolant_temp_c=95,100', 'engine_oil_temp_c=120.5', 'coolant_temp_c=105']);
    expect(canonicalStages(stages)).toEqual({ coolant_temp_c: ['95', '100', '105'], engine_oil_temp_c: ['120.5'] });
  });

  it('takes another unit, keeps the stage as asked, and counts the same stage once', () => {
    // 179.6 degF = 82 degC exactly (NIST SP 811: t_C = (t_F - 32) / 1.8).
    const stages = parseStages(['coolant_temp_c=82,179.6F,179.6 °F']);
    expect(canonicalStages(stages)).toEqual({ coolant_temp_c: ['82'] });
    expect(asAsked(stages.get('coolant_temp_c')!, { 82: 126 })).toEqual({ 82: 126, '179.6F': 126, '179.6 °F': 126 });
  });

  it.each([
    ['coolant_temp_c', 'it names no value'],
    ['coolant_temp_c=', 'it names no value'],
    ['coolant_temp_c=hot', '"hot" is no number'],
    ['coolant_temp_c=95,', '"" is no number'],
    ['coolant_temp_c=95psi', '"psi" is no unit of engine coolant temperature'],
    ['coolant=95', '"coolant" is no signal'],
    ['__proto__=1', 'is no signal'],
  ])('refuses %s and says why', (text, why) => {
    expect(() => parseStages([text])).toThrow(why);
    expect(() => parseStages([text])).toThrow(TallybayError);
  });

  it('names the signals that were probably meant', () => {
    const error = (() => {
      try {
        parseStages(['coolant=95']);
      } catch (thrown) {
        return thrown as TallybayError;
      }
      return null;
    })();
    expect(error?.options.advice).toContain('coolant_temp_c');
  });
});
