import { openRegistry, type StoredVisit } from '@tallybay/registry';
import { describe, expect, it, onTestFinished } from 'vitest';
import { BoardReader } from '../../../../../apps/api/src/plan/board-reader.js';
import type { PlanNews } from '../../../../../apps/api/src/plan/plan-news.js';
import { ShopReader } from '../../../../../apps/api/src/plan/shop-reader.js';
import { VisitDesk } from '../../../../../apps/api/src/plan/visit-desk.js';
import { EditedSettings } from '../../../../../apps/api/src/settings/edited-settings.js';
import { dayAhead, FLEET, SHOP } from '../../../../service/small-shop.js';

/** A shop with visits of KV-1 and KV-3 in one bay on following days, and what happens each time after the board was read. */
async function shop(meanwhile: (visits: StoredVisit[], desk: VisitDesk, turn: number) => Promise<unknown>) {
  const registry = await openRegistry({ kind: 'sqlite', file: ':memory:' });
  onTestFinished(() => registry.close());
  await registry.importFleet({ assignments: [], profiles: [], ...FLEET } as never);
  await registry.settings.put('shop', SHOP);
  const wanted = (vehicle: string) => ({
    ...{ vehicle, kind: 'emissions-inspection', label: 'Emissions inspection', why: [], minutes: 60, skills: [] },
    ...{ features: [], earliest: dayAhead(0), latest: null, costPerDay: 5, latePerDay: 10 },
  });
  await registry.inspections.propose([wanted('KV-1'), wanted('KV-3')]);
  const created = (await registry.inspections.list()).map(({ id, vehicle, kind, label }, index) => ({
    ...{ vehicle, vehicleClass: 'van', depot: 'north', bay: 'north-1', minutes: 60, person: 'p-north' },
    ...{ day: dayAhead(4 + index), lastDay: dayAhead(4 + index), note: null, findings: null, used: [] },
    parts: [{ day: dayAhead(4 + index), fromMinute: 480, minutes: 60 }],
    inspections: [{ id, kind, label, why: [] }],
  }));
  const plan = { boardVersion: 0, created, moved: [], removed: [], report: null, by: 'ada' };
  const { visits } = await registry.work.applyPlan(plan);
  const reader = new BoardReader(registry, new ShopReader(registry, new EditedSettings(registry), Date.now));
  const news = { tell: async () => {} } as unknown as PlanNews;
  const other = new VisitDesk(reader, news);
  let turn = 0;
  const interrupted = Object.create(reader, {
    read: {
      value: async (...args: Parameters<BoardReader['read']>) => {
        const read = await reader.read(...args);
        await meanwhile(visits, other, ++turn);
        return read;
      },
    },
  }) as BoardReader;
  const desk = new VisitDesk(interrupted, news);
  return { registry, visits, desk: other, move: (day: string) => desk.move(edit(visits[0]!), { bay: 'north-1', day }) };
}

const edit = ({ id, version }: StoredVisit) => ({ id, expectedVersion: version, by: 'ben' });

describe('a move, while another planner', () => {
  it('moves another visit elsewhere, is worked out again on the new board and goes through', async () => {
    const { move, registry } = await shop(async ([, second], desk, turn) => {
      if (turn === 1) await desk.move(edit(second!), { bay: 'north-1', day: dayAhead(9) });
    });
    expect(await move(dayAhead(7))).toMatchObject({ day: dayAhead(7), pinned: true });
    expect((await registry.work.visits()).map(({ day }) => day)).toEqual([dayAhead(7), dayAhead(9)]);
  });

  it('takes the same place first, is refused with the limit', async () => {
    const { move, visits, registry } = await shop(async ([, second], desk, turn) => {
      if (turn === 1) await desk.move(edit(second!), { bay: 'north-1', day: dayAhead(7) });
    });
    await expect(move(dayAhead(7))).rejects.toMatchObject({ code: 'place_taken' });
    expect(await registry.work.visit(visits[0]!.id)).toMatchObject({ day: dayAhead(4), version: 1 });
  });

  it('changes the same visit, is a conflict', async () => {
    const { move } = await shop(async ([first], desk, turn) => {
      if (turn === 1) await desk.pin(edit(first!), true);
    });
    await expect(move(dayAhead(7))).rejects.toMatchObject({ code: 'edit_conflict' });
  });

  it('does not stop changing the board, is a conflict in the end', async () => {
    let turns = 0;
    const { move } = await shop(async ([, second], desk, turn) => {
      turns = turn;
      await desk.pin({ id: second!.id, expectedVersion: undefined, by: 'ada' }, turn % 2 === 0);
    });
    await expect(move(dayAhead(7))).rejects.toMatchObject({ code: 'edit_conflict' });
    expect(turns).toBeGreaterThan(1);
  });
});

describe('two planners who take the same visit through its states', () => {
  it('cannot both: the second is told how it stands, whichever was first', async () => {
    const { desk, visits, registry } = await shop(async () => {});
    const { id } = visits[0]!;
    const at = (by: string) => ({ id, expectedVersion: undefined, by });
    // Both ask before either has been answered; neither knows a version to be held to.
    const results = await Promise.allSettled([
      desk.step(at('ada'), 'done', { findings: 'cap was loose' }),
      desk.decline(at('ben'), 'sold'),
      desk.step(at('cyd'), 'done', { findings: 'nothing' }),
    ]);
    expect(results.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected', 'rejected']);
    const codes = results.flatMap((item) => (item.status === 'rejected' ? [item.reason.code] : []));
    for (const code of codes) expect(['visit_state', 'record_unknown']).toContain(code);
    const now = (await registry.work.visit(id))!;
    expect(now.version).toBe(2);
    expect(now.updatedBy).toBe(['ada', 'ben', 'cyd'][results.findIndex(({ status }) => status === 'fulfilled')]);
  });

  it('cannot take one back into the bay that the other has done', async () => {
    const { desk, visits } = await shop(async () => {});
    const at = { id: visits[0]!.id, expectedVersion: undefined, by: 'ada' };
    const results = await Promise.allSettled([desk.step(at, 'done'), desk.step(at, 'in_the_bay')]);
    expect(results).toMatchObject([{ status: 'fulfilled' }, { status: 'rejected', reason: { code: 'visit_state' } }]);
  });

  it('cannot pin what was taken from the plan', async () => {
    const { desk, visits } = await shop(async () => {});
    const at = { id: visits[0]!.id, expectedVersion: undefined, by: 'ada' };
    await desk.decline(at, 'sold');
    await expect(desk.pin(at, true)).rejects.toMatchObject({ code: 'record_unknown' });
  });
});
