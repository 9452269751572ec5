import { uploadSchema } from '@tallybay/contracts';
import type { NewUpload } from '@tallybay/registry';
import { openRegistry, uploadFromRow } from '@tallybay/registry';
import { describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

const upload = (number: number, extra: Partial<NewUpload> = {}): NewUpload => ({
  id: `u${String(number).padStart(4, '0')}`,
  kind: 'log',
  state: 'landed',
  bytes: 3_000_000_000 + number,
  sha256: `hash-${number}`,
  receivedAt: new Date(Date.UTC(2026, 9, 5, 8, 0, number)).toISOString(),
  ...extra,
});

export function describeUploads({ open, config }: RegistrySource): void {
  describe('uploads', () => {
    it('come back as the contract wants them', async () => {
      const registry = await open();
      const { inserted, row } = await registry.uploads.insertIfAbsent(
        upload(1, {
          vehicle: 'KV-101',
          plan: { dialect: 'de' },
          decisions: [{ what: 'vehicle', value: 'KV-101', why: 'named' }],
        }),
      );
      expect(inserted).toBe(true);
      expect(row).toMatchObject({
        bytes: 3_000_000_001,
        plan: { dialect: 'de' },
        attempt: 0,
        progress: { chunks: 0, decoded: 0 },
      });
      expect(uploadSchema.strict().parse(uploadFromRow(row)).vehicle).toBe('KV-101');
      expect(await registry.uploads.get('none')).toBeNull();
    });

    it('of the same content are one, also from two connections at the same moment', async () => {
      const registry = await open();
      const second = await openRegistry(config());
      try {
        const tries = Array.from({ length: 8 }, (_, number) =>
          (number % 2 ? registry : second).uploads.insertIfAbsent(upload(number, { sha256: 'same' })),
        );
        const results = await Promise.all(tries);
        expect(results.filter((result) => result.inserted)).toHaveLength(1);
        expect(new Set(results.map((result) => result.row.id)).size).toBe(1);
        const snapshot = await registry.uploads.insertIfAbsent(upload(99, { sha256: 'same', kind: 'snapshot' }));
        expect(snapshot.inserted).toBe(true);
      } finally {
        await second.close();
      }
    });

    it('change only in what a patch names', async () => {
      const registry = await open();
      await registry.uploads.insertIfAbsent(upload(1, { vehicle: 'KV-101', unmapped: ['a'] }));
      expect(
        await registry.uploads.update('u0001', {
          progress: { chunks: 9, decoded: 4 },
          firstTime: '2026-10-05T10:00:00+02:00',
        }),
      ).toBe(true);
      expect(await registry.uploads.get('u0001')).toMatchObject({
        vehicle: 'KV-101',
        unmapped: ['a'],
        progress: { chunks: 9, decoded: 4 },
        firstTime: '2026-10-05T08:00:00.000Z',
        lastTime: null,
      });
      expect(await registry.uploads.update('u0001', { vehicle: null })).toBe(true);
      expect((await registry.uploads.get('u0001'))?.vehicle).toBeNull();
      expect(await registry.uploads.update('none', { vehicle: null })).toBe(false);
      expect(await registry.uploads.update('u0001', {})).toBe(true);
    });

    it('take many patches at once', async () => {
      const registry = await open();
      for (const number of [1, 2, 3]) await registry.uploads.insertIfAbsent(upload(number));
      const patches = [1, 2, 3].map(
        (number) => [`u000${number}`, { progress: { chunks: 5, decoded: number } }] as const,
      );
      await registry.uploads.updateMany(new Map(patches));
      expect((await registry.uploads.withState('landed')).map((row) => row.progress.decoded)).toEqual([1, 2, 3]);
    });

    it('pass from state to state once, whoever asks first', async () => {
      const registry = await open();
      const second = await openRegistry(config());
      try {
        await registry.uploads.insertIfAbsent(upload(1, { state: 'waiting' }));
        const tries = [registry, second, registry, second].map((one, number) =>
          one.uploads.transition('u0001', ['waiting', 'landed'], 'queued', { vehicle: `KV-${number}` }),
        );
        const won = await Promise.all(tries);
        expect(won.filter(Boolean)).toHaveLength(1);
        expect(await registry.uploads.get('u0001')).toMatchObject({
          state: 'queued',
          vehicle: `KV-${won.indexOf(true)}`,
        });
        expect(await registry.uploads.transition('u0001', [], 'stored')).toBe(false);
      } finally {
        await second.close();
      }
    });

    it('are listed newest first, in pages that neither skip nor repeat', async () => {
      const registry = await open();
      const receivedAt = upload(0).receivedAt;
      for (let number = 0; number < 25; number++)
        await registry.uploads.insertIfAbsent(
          upload(number, { state: number % 2 ? 'waiting' : 'stored', ...(number > 15 ? { receivedAt } : {}) }),
        );
      const seen: string[] = [];
      for (;;) {
        const page = await registry.uploads.list({ limit: 4, before: seen.at(-1) });
        if (page.length === 0) break;
        seen.push(...page.map((row) => row.id));
      }
      expect(seen).toHaveLength(25);
      expect(new Set(seen).size).toBe(25);
      expect(seen[0]).toBe('u0015');
      expect(await registry.uploads.list({ limit: 50, state: 'waiting' })).toHaveLength(12);
      expect(await registry.uploads.list({ limit: 50, kind: 'snapshot' })).toHaveLength(0);
      expect(await registry.uploads.countByState()).toEqual({ waiting: 12, stored: 13 });
    });
  });
}
