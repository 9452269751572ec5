// What rows of the shop's tables say together. The planner takes the first of two rows that say the same (docs/plan.md), so
// a second one would silently do nothing: facts of our own format, no outside source.
import { shopSchema } from '@tallybay/contracts';
import { STANDARD_KINDS } from '@tallybay/plan';
import { describe, expect, it } from 'vitest';
import { SETTINGS } from '../../../../../apps/api/src/settings/setting-table.js';
import { kindProblems, shopProblems } from '../../../../../apps/api/src/settings/shop-checks.js';
import { SHOP } from '../../../../service/small-shop.js';
import { startApi } from '../test-api.js';

const problemsOf = (part: object): string[] =>
  shopProblems(shopSchema.parse({ ...SHOP, ...part })).map(({ path }) => path.join('.'));

describe('the shop’s tables', () => {
  it('take what a shop really has', () => {
    expect(shopProblems(SHOP)).toEqual([]);
    expect(kindProblems(STANDARD_KINDS)).toEqual([]);
    for (const { schema, standard } of Object.values(SETTINGS)) expect(schema.safeParse(standard).success).toBe(true);
  });

  it.each([
    [{ bays: [SHOP.bays[0], SHOP.bays[0]] }, 'bays.1.id'],
    [{ people: [SHOP.people[0], SHOP.people[0]] }, 'people.1.id'],
    [{ bays: [{ ...SHOP.bays[0], closed: [{ from: '2026-11-02', to: '2026-11-01' }] }] }, 'bays.0.closed.0.to'],
    [{ people: [{ ...SHOP.people[0], absent: [{ from: '2026-11-02', to: '2026-11-01' }] }] }, 'people.0.absent.0.to'],
    [{ hours: [{ depot: 'north', weekday: 1, from: '09:00', to: '09:00' }] }, 'hours.0.to'],
    [{ hours: [SHOP.hours[0], { ...SHOP.hours[0], from: '10:00', to: '11:00' }] }, 'hours.1.weekday'],
    [{ holidays: [SHOP.holidays[0], SHOP.holidays[0]] }, 'holidays.1.date'],
    [{ spares: [SHOP.spares[0], SHOP.spares[0]] }, 'spares.1.vehicleClass'],
    [{ inService: [{ weekdays: [1] }] }, 'inService.0.vehicle'],
    [{ inService: [{ vehicle: 'KV-1', vehicleClass: 'van', weekdays: [1] }] }, 'inService.0.vehicle'],
    [{ inService: [1, 2].map((day) => ({ vehicle: 'KV-1', weekdays: [day] })) }, 'inService.1.vehicle'],
    [{ travel: [{ from: 'north', to: 'north', minutes: 5 }] }, 'travel.0.to'],
    [
      {
        travel: [
          ['north', 'south'],
          ['south', 'north'],
        ].map(([from, to]) => ({ from, to, minutes: 5 })),
      },
      'travel.1.to',
    ],
  ])('refuse %j', (part, path) => {
    expect(problemsOf(part)).toEqual([path]);
  });

  it('are refused over HTTP with every field at fault', async () => {
    const { call } = await startApi();
    const hours = [1, 2].map((weekday) => ({ depot: 'north', weekday, from: '17:00', to: '08:00' }));
    const { status, body } = await call('PUT', '/v1/settings/shop', { ...SHOP, hours });
    expect(status).toBe(422);
    expect(body.fields).toEqual([
      { field: 'hours.0.to', text: '08:00 is not after 17:00; leave a closed day out' },
      { field: 'hours.1.to', text: '08:00 is not after 17:00; leave a closed day out' },
    ]);
    const twice = await call('PUT', '/v1/settings/shop-kinds', [STANDARD_KINDS[0], STANDARD_KINDS[0]]);
    expect(twice.body.field).toBe('1.id');
  });
});
