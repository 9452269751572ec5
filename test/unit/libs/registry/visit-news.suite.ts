import type { NewVisit, Registry } from '@tallybay/registry';
import { beforeEach, describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

let registry: Registry;
const now = Date.UTC(2026, 10, 23);

const newVisit = (vehicle: string): NewVisit => ({
  ...{ vehicle, vehicleClass: 'van', depot: 'north', bay: 'bay-1', day: '2026-11-24', lastDay: '2026-11-24' },
  ...{ minutes: 90, person: 'ada', parts: [{ day: '2026-11-24', fromMinute: 480, minutes: 90 }] },
  ...{ note: null, findings: null, used: [], inspections: [] },
});
const plan = (boardVersion: number, created: NewVisit[]) => ({
  ...{ boardVersion, created, moved: [], removed: [], report: null, by: 'ada' },
});
const waiting = async (way: 'stream' | 'webhook') =>
  (await registry.visitNews.waiting(way)).map(({ event }) => [event.vehicleId, event.version, event.state]);

export function describeVisitNews({ open }: RegistrySource): void {
  describe('changes of visits on their way out', () => {
    beforeEach(async () => {
      registry = await open(() => now);
    });

    it('are written with the change, in its order and for each way, and go when they are told', async () => {
      const { visits } = await registry.work.applyPlan(plan(0, [newVisit('KV-2'), newVisit('KV-1')]));
      const [second, first] = visits.map(({ id }) => id);
      await registry.work.change({ id: first!, change: { state: 'booked' } }, 'ada');
      await registry.work.decline({ id: second! }, 'sold', 'ada');
      const all = [
        ['KV-2', 1, 'proposed'],
        ['KV-1', 1, 'proposed'],
        ['KV-1', 2, 'booked'],
        ['KV-2', 2, 'declined'],
      ];
      expect(await waiting('stream')).toEqual(all);
      expect((await registry.visitNews.waiting('stream'))[0]).toEqual({
        event: {
          ...{ kind: 'visit_changed', at: '2026-11-23T00:00:00.000Z', visit: second, vehicleId: 'KV-2' },
          ...{ depot: 'north', bay: 'bay-1', day: '2026-11-24', from: '08:00', state: 'proposed' },
          ...{ cancelled: false, version: 1 },
        },
        atMs: now,
      });
      const [oldest] = await registry.visitNews.waiting('stream', 1);
      await registry.visitNews.told('stream', [oldest!.event]);
      expect(await waiting('stream')).toEqual(all.slice(1));
      expect(await waiting('webhook')).toEqual(all);
    });

    it('are not written when the change is refused', async () => {
      const { visits } = await registry.work.applyPlan(plan(0, [newVisit('KV-1')]));
      await expect(registry.work.applyPlan(plan(0, [newVisit('KV-2')]))).rejects.toThrow();
      const late = registry.work.change({ id: visits[0]!.id, expectedVersion: 7, change: { pinned: true } }, 'ben');
      await expect(late).rejects.toThrow('meanwhile');
      expect(await waiting('stream')).toEqual([['KV-1', 1, 'proposed']]);
    });
  });
}
