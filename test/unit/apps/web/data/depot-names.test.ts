// The page's own rules, no source.
import { afterEach, describe, expect, it } from 'vitest';
import { depotChoices, depotName, knowDepots } from '../../../../../apps/web/src/data/depot-names.js';

const depot = (id: string, name: string) => ({ id, name, timeZone: 'America/Denver' });
afterEach(() => knowDepots([]));

describe('a depot', () => {
  it('is called by its name, by its id until names are known or where it has none', () => {
    expect(depotName('north')).toBe('north');
    knowDepots([depot('north', 'Northgate'), depot('bare', '')]);
    expect(['north', 'bare', 'gone'].map(depotName)).toEqual(['Northgate', 'bare', 'gone']);
  });

  it('is told from another of the same name', () => {
    knowDepots([depot('n', 'Yard'), depot('s', 'Yard'), depot('e', 'East')]);
    expect(['n', 's', 'e'].map(depotName)).toEqual(['Yard (n)', 'Yard (s)', 'East']);
  });

  it('stands once among choices, in the order of names; the address keeps the id', () => {
    knowDepots([depot('a', 'Tern Basin'), depot('b', 'Millrace')]);
    expect(depotChoices(['a', 'b', 'a'])).toEqual([
      { value: 'b', text: 'Millrace' },
      { value: 'a', text: 'Tern Basin' },
    ]);
  });
});
