// The shop's documents as forms. What a document is comes from the contracts' schemas (our own format, no outside source).
import { inspectionKindSchema, noticeSettingsSchema, shopSchema } from '@tallybay/contracts';
import { STANDARD_KINDS } from '@tallybay/plan';
import { describe, expect, it, vi } from 'vitest';
import { merged } from '../../../../../../apps/web/src/pages/shop/edited-setting.js';
import {
  documentOf,
  draftOf,
  emptyRow,
  type FieldSpec,
  problemsOf,
  rowsOf,
} from '../../../../../../apps/web/src/pages/shop/fields.js';
import { KINDS, NOTICES, SHOP } from '../../../../../../apps/web/src/pages/shop/tables.js';
import { withDay } from '../../../../../../apps/web/src/pages/shop/week-rows.js';
import { SHOP as SMALL_SHOP } from '../../../../../service/small-shop.js';

// The page's words name their language in the document as they are loaded; here there is none.
vi.hoisted(() => vi.stubGlobal('document', { documentElement: {} }));

const FULL_SHOP = shopSchema.parse({
  ...SMALL_SHOP,
  bays: [{ ...SMALL_SHOP.bays[0], closed: [{ from: '2026-12-01', to: '2026-12-03' }] }],
  inService: [
    { vehicle: 'KV-1', weekdays: [1, 5] },
    { vehicleClass: 'van', weekdays: [2] },
  ],
  travel: [{ from: 'north', to: 'south', minutes: 35 }],
  spares: [{ vehicleClass: 'van', depot: 'north', count: 0 }],
});
const NO_NOTICES = noticeSettingsSchema.parse({ quiet: null, mailTo: ['a@example.org', 'b@example.org'] });

const rowSpecs = (specs: readonly FieldSpec[], key: string): readonly FieldSpec[] => {
  const found = specs.find((spec) => spec.key === key);
  if (found?.kind !== 'rows') throw new Error(`${key} is no list`);
  return found.of;
};
const keysOf = (specs: readonly FieldSpec[]) => specs.map(({ key }) => key).toSorted();

describe('a form', () => {
  it.each([
    ['the shop', SHOP, FULL_SHOP],
    ['an empty shop', SHOP, shopSchema.parse({})],
    ['the kinds', KINDS, { kinds: STANDARD_KINDS }],
    ['the notices', NOTICES, noticeSettingsSchema.parse({})],
    ['notices without quiet hours', NOTICES, NO_NOTICES],
  ] as const)('gives back %s as it was', (_name, specs, document) => {
    const draft = draftOf(specs, document);
    expect(problemsOf(specs, draft)).toEqual([]);
    expect(documentOf(specs, draft)).toEqual(document);
  });

  it('has a field for every key of the schemas', () => {
    expect(keysOf(SHOP)).toEqual(Object.keys(shopSchema.shape).toSorted());
    expect(keysOf(NOTICES)).toEqual(Object.keys(noticeSettingsSchema.shape).toSorted());
    expect(keysOf(rowSpecs(KINDS, 'kinds'))).toEqual(Object.keys(inspectionKindSchema.shape).toSorted());
    for (const list of ['bays', 'people', 'hours', 'holidays', 'spares', 'inService', 'travel'] as const) {
      const { element } = shopSchema.shape[list].unwrap();
      expect(keysOf(rowSpecs(SHOP, list))).toEqual(Object.keys(element.shape).toSorted());
    }
  });

  it('names every field that does not fit by its path in the document', () => {
    const draft = draftOf(SHOP, FULL_SHOP);
    const bays = [{ ...emptyRow(rowSpecs(SHOP, 'bays')), depot: 'north' }];
    const hours = [{ depot: 'north', weekday: '1', from: '8', to: '17:00' }];
    const rules = [{ ...rowsOf(draft, 'rules')[0], horizonDays: '1.5', leastWeight: '2' }];
    const wrong = problemsOf(SHOP, { ...draft, bays, hours, rules });
    expect(wrong.map(({ field }) => field)).toEqual([
      'bays.0.name',
      'hours.0.from',
      'rules.horizonDays',
      'rules.leastWeight',
    ]);
    expect(shopSchema.safeParse({ ...FULL_SHOP, hours: [{ ...FULL_SHOP.hours[0], from: '8' }] }).success).toBe(false);
  });

  it('gives a new row an address of its own, and never changes one that others hold', () => {
    const draft = draftOf(SHOP, FULL_SHOP);
    const named = (name: string) => ({ ...emptyRow(rowSpecs(SHOP, 'bays')), name, depot: 'north' });
    const renamed = { ...rowsOf(draft, 'bays')[0]!, name: 'Pit of the north' };
    const bays = [renamed, named('North 1'), named('Wäsche & Öl')];
    const document = documentOf(SHOP, { ...draft, bays }) as typeof FULL_SHOP;
    expect(document.bays.map(({ id }) => id)).toEqual(['north-1', 'north-1-2', 'wa-sche-o-l']);
    expect(shopSchema.safeParse(document).success).toBe(true);
  });

  it('closes a day whose times are empty', () => {
    const rows = rowsOf(draftOf(SHOP, FULL_SHOP), 'hours');
    const day = { depot: 'north', weekday: '3' };
    expect(withDay(rows, { ...day, from: '', to: '' })).toHaveLength(rows.length - 1);
    expect(withDay(rows, { ...day, from: '10:00', to: '12:00' })).toHaveLength(rows.length);
  });
});

describe('two people at one table', () => {
  it('keep both changes; what both changed is named, and mine stands', () => {
    const base = { bays: ['a'], people: ['p'], hours: [1] };
    const found = merged('shop', {
      base,
      mine: { ...base, bays: ['a', 'b'], hours: [2] },
      theirs: { ...base, people: [], hours: [3] },
    });
    expect(found).toEqual({ document: { bays: ['a', 'b'], people: [], hours: [2] }, both: ['hours'] });
  });

  it('keep kinds that the other added, also where both changed the list', () => {
    const [first, second] = STANDARD_KINDS.map(({ id, label }) => ({ id, label }));
    const added = { id: 'wash', label: 'Wash' };
    const mine = { kinds: [{ ...first, label: 'Mine' }] };
    const found = merged('shop-kinds', {
      base: { kinds: [first, second] },
      mine,
      theirs: { kinds: [first, second, added] },
    });
    expect(found).toEqual({ document: { kinds: [{ ...first, label: 'Mine' }, added] }, both: [] });
  });
});
