import { openRegistry } from '@tallybay/registry';
import { describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

export function describeJobs({ open, config }: RegistrySource): void {
  describe('a job', () => {
    it('is run by one at a time, across connections', async () => {
      const registry = await open();
      const second = await openRegistry(config());
      try {
        const tries = ['a', 'b', 'c', 'd'].map((owner, index) =>
          (index % 2 ? second : registry).jobs.acquire('rank', owner, 60_000),
        );
        expect((await Promise.all(tries)).filter(Boolean)).toHaveLength(1);
        expect(await registry.jobs.acquire('other', 'x', 60_000)).toBe(true);
      } finally {
        await second.close();
      }
    });

    it('is free again when released by its owner, or when the lease ends', async () => {
      let nowMs = 0;
      const { jobs } = await open(() => nowMs);
      expect(await jobs.acquire('rank', 'a', 1_000)).toBe(true);
      await jobs.release('rank', 'b');
      expect(await jobs.holder('rank')).toEqual({ owner: 'a', startedAtMs: 0, expiresAtMs: 1_000 });
      nowMs = 999;
      expect(await jobs.acquire('rank', 'b', 1_000)).toBe(false);
      expect(await jobs.renew('rank', 'a', 1_000)).toBe(true);
      nowMs = 1_999;
      expect(await jobs.holder('rank')).toBeNull();
      expect(await jobs.acquire('rank', 'b', 1_000)).toBe(true);
      expect(await jobs.renew('rank', 'a', 1_000)).toBe(false);
      await jobs.release('rank', 'b');
      expect(await jobs.acquire('rank', 'c', 1_000)).toBe(true);
    });

    it('remembers its weeks and finds weeks with data stored since', async () => {
      const registry = await open();
      const week = (name: string, day: number, startedAt: string) => ({
        week: name,
        fromMs: Date.UTC(2026, 9, day),
        toMs: Date.UTC(2026, 9, day + 7),
        startedAtMs: Date.parse(startedAt),
      });
      expect(await registry.jobs.finishedWeeks('rank')).toEqual([]);
      await registry.jobs.finishWeek('rank', week('2026-W41', 5, '2026-10-12T05:00:00Z'));
      await registry.jobs.finishWeek('rank', week('2026-W42', 12, '2026-10-19T05:00:00Z'));
      expect(await registry.jobs.finishedWeeks('rank')).toEqual(['2026-W41', '2026-W42']);
      expect(await registry.jobs.finishedWeeks('other')).toEqual([]);
      expect(await registry.jobs.weeksWithLateData('rank')).toEqual([]);
      await registry.uploads.insertIfAbsent({
        id: 'late',
        kind: 'log',
        state: 'stored',
        bytes: 1,
        sha256: 'late',
        receivedAt: '2026-10-20T00:00:00Z',
        storedAt: '2026-10-20T00:00:00Z',
        firstTime: '2026-10-06T00:00:00Z',
        lastTime: '2026-10-06T02:00:00Z',
      });
      expect(await registry.jobs.weeksWithLateData('rank')).toEqual(['2026-W41']);
      await registry.jobs.finishWeek('rank', week('2026-W41', 5, '2026-10-20T00:00:01Z'));
      expect(await registry.jobs.weeksWithLateData('rank')).toEqual([]);
    });
  });
}
