import type { NewInspection, NewVisit, Registry } from '@tallybay/registry';
import { beforeEach, describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

let registry: Registry;
let now = Date.UTC(2026, 10, 23);

const wanted = (vehicle: string, kind = 'cooling'): NewInspection => ({
  ...{ vehicle, kind, label: 'Cooling system', why: [], minutes: 90, skills: [], features: [] },
  ...{ earliest: '2026-11-23', latest: null, costPerDay: 5, latePerDay: 10 },
});

async function visitOf(vehicle: string): Promise<NewVisit> {
  const [inspection] = await registry.inspections.list({ vehicle });
  const { id, kind, label } = inspection!;
  return {
    ...{
      vehicle,
      vehicleClass: 'van',
      depot: 'north',
      bay: 'bay-1',
      day: '2026-11-24',
      lastDay: '2026-11-24',
      minutes: 90,
    },
    ...{
      person: 'ada',
      parts: [{ day: '2026-11-24', fromMinute: 480, minutes: 90 }],
      note: null,
      findings: null,
      used: [],
    },
    inspections: [{ id, kind, label, why: [] }],
  };
}

const plan = (boardVersion: number, created: NewVisit[], by = 'ada') => ({
  ...{ boardVersion, created, moved: [], removed: [], report: { cost: 1 }, by },
});

export function describeWork({ open }: RegistrySource): void {
  describe('inspections and visits', () => {
    beforeEach(async () => {
      registry = await open(() => now);
    });

    it('keeps one proposal a vehicle and kind, and drops it when nothing asks for it', async () => {
      await registry.inspections.propose([wanted('KV-1'), wanted('KV-2')]);
      await registry.inspections.propose([{ ...wanted('KV-1'), minutes: 60 }]);
      const left = await registry.inspections.list();
      expect(left.map(({ vehicle, minutes, version }) => [vehicle, minutes, version])).toEqual([['KV-1', 60, 2]]);
    });

    it('writes a plan once: the second planner is told who was first, and nothing of theirs is written', async () => {
      await registry.inspections.propose([wanted('KV-1'), wanted('KV-2')]);
      const { version } = await registry.work.board();
      await registry.work.applyPlan(plan(version, [await visitOf('KV-1')], 'ada'));
      const second = registry.work.applyPlan(plan(version, [await visitOf('KV-2')], 'ben'));
      await expect(second).rejects.toMatchObject({
        code: 'edit_conflict',
        message: expect.stringContaining('ada changed the plan'),
      });
      expect((await registry.work.visits()).map(({ vehicle }) => vehicle)).toEqual(['KV-1']);
    });

    it('lets only one of two simultaneous changes of a visit through', async () => {
      await registry.inspections.propose([wanted('KV-1')]);
      const { visits } = await registry.work.applyPlan(plan(0, [await visitOf('KV-1')]));
      const { id, version } = visits[0]!;
      const results = await Promise.allSettled([
        registry.work.change({ id, expectedVersion: version, change: { pinned: true } }, 'ada'),
        registry.work.change({ id, expectedVersion: version, change: { state: 'booked' } }, 'ben'),
      ]);
      expect(results.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
      const refused = results.find((result) => result.status === 'rejected')!;
      expect((refused as PromiseRejectedResult).reason).toMatchObject({ code: 'edit_conflict' });
      expect((await registry.work.visit(id))!.version).toBe(2);
    });

    it('changes several visits or none, and none when the board has moved on', async () => {
      await registry.inspections.propose([wanted('KV-1'), wanted('KV-2')]);
      const { version, visits } = await registry.work.applyPlan(
        plan(0, [await visitOf('KV-1'), await visitOf('KV-2')]),
      );
      const [first, second] = visits.map(({ id }) => ({ id, expectedVersion: 1, change: { bay: 'bay-2' } }));
      const late = registry.work.changeAll([first!, { ...second!, expectedVersion: 7 }], 'ben');
      await expect(late).rejects.toMatchObject({ code: 'edit_conflict' });
      const bays = async () => (await registry.work.visits()).map(({ bay }) => bay);
      expect(await bays()).toEqual(['bay-1', 'bay-1']);
      // Two planners who read the same board: only one of them may act on it.
      const both = await Promise.allSettled([
        registry.work.changeAll([first!], 'ada', version),
        registry.work.changeAll([second!], 'ben', version),
      ]);
      expect(both.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
      expect((await bays()).sort()).toEqual(['bay-1', 'bay-2']);
    });

    it('moves inspections with their visit through its states, counts the sequence, keeps the cancelled', async () => {
      await registry.inspections.propose([wanted('KV-1')]);
      const { visits } = await registry.work.applyPlan(plan(0, [await visitOf('KV-1')]));
      const { id } = visits[0]!;
      await registry.work.change({ id, change: { state: 'booked' } }, 'ada');
      // Its old bay's calendar must let go of it, and take it back when it returns.
      expect((await registry.work.change({ id, change: { bay: 'bay-2' } }, 'ada')).formerBays).toEqual(['bay-1']);
      expect((await registry.work.change({ id, change: { bay: 'bay-1' } }, 'ada')).formerBays).toEqual(['bay-2']);
      now += 1000;
      const done = await registry.work.change({ id, change: { state: 'done', findings: 'thermostat stuck' } }, 'ada');
      expect(done).toMatchObject({ state: 'done', sequence: 4, findings: 'thermostat stuck', doneAtMs: now });
      expect((await registry.inspections.list({ vehicle: 'KV-1' }))[0]).toMatchObject({ state: 'done', visit: id });
      // A new finding after the repair is a new inspection.
      await registry.inspections.propose([wanted('KV-1')]);
      expect((await registry.inspections.list({ vehicle: 'KV-1' })).map(({ state }) => state).sort()).toEqual([
        'done',
        'proposed',
      ]);
      const again = await registry.work.applyPlan(plan((await registry.work.board()).version, []));
      expect(again.version).toBe(6);
      await registry.work.decline({ id }, 'sold', 'ada');
      expect(await registry.work.visits()).toEqual([]);
      expect((await registry.work.visits({ cancelled: true }))[0]).toMatchObject({ note: 'sold', sequence: 5 });
    });

    it('remembers the days and depots that a visit gave up, until it has them again', async () => {
      await registry.inspections.propose([wanted('KV-1')]);
      const days = ['2026-11-24', '2026-11-25', '2026-11-26'].map((day) => ({ day, fromMinute: 480, minutes: 480 }));
      const created = [{ ...(await visitOf('KV-1')), parts: days, lastDay: '2026-11-26', minutes: 1440 }];
      const { id } = (await registry.work.applyPlan(plan(0, created))).visits[0]!;
      const change = (change: object) => registry.work.change({ id, change }, 'ada');
      expect((await change({ parts: days.slice(0, 1) })).formerParts).toEqual(days.slice(1));
      expect((await change({ pinned: true })).formerParts).toEqual(days.slice(1));
      expect(await change({ parts: days.slice(0, 2), depot: 'south' })).toMatchObject({
        ...{ formerParts: days.slice(2), formerDepots: ['north'] },
      });
      expect(await change({ parts: days, depot: 'north' })).toMatchObject({
        ...{ formerParts: [], formerDepots: ['south'] },
      });
    });

    it('tells of each subject once', async () => {
      const notice = { id: 'rank KV-1 2026-W47', kind: 'ranking', vehicle: 'KV-1', words: 'KV-1 is third', link: null };
      expect(await registry.notices.add([notice])).toBe(1);
      expect(await registry.notices.add([notice])).toBe(0);
      await registry.notices.told('mail', [notice.id]);
      expect(await registry.notices.untold('mail')).toEqual([]);
      expect(await registry.notices.untold('webhook')).toHaveLength(1);
      expect(await registry.notices.seen([notice.id], 'ada')).toBe(1);
      expect(await registry.notices.list({ unseen: true })).toEqual([]);
    });
  });
}
