import { describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

export function describeSettings({ open }: RegistrySource): void {
  describe('settings', () => {
    it('keep every version with when and by whom', async () => {
      let nowMs = 1_000;
      const registry = await open(() => nowMs);
      await registry.settings.put('stages', { pickup: [105] }, { by: 'dana', expectedVersion: 0 });
      nowMs = 2_000;
      await registry.settings.put('stages', { pickup: [105, 112] }, { expectedVersion: 1 });
      expect(await registry.settings.get('stages')).toEqual({
        name: 'stages',
        document: { pickup: [105, 112] },
        version: 2,
        updatedAtMs: 2_000,
        updatedBy: null,
      });
      expect(await registry.settings.history('stages')).toMatchObject([
        { version: 2, updatedBy: null, updatedAtMs: 2_000 },
        { version: 1, updatedBy: 'dana', updatedAtMs: 1_000, document: { pickup: [105] } },
      ]);
      expect((await registry.settings.list()).map((setting) => setting.name)).toEqual(['stages']);
      expect(await registry.settings.get('none')).toBeNull();
    });

    it('refuse an edit of an older version and leave no trace of it', async () => {
      const registry = await open();
      await registry.settings.put('stages', 1);
      await expect(registry.settings.put('stages', 2, { expectedVersion: 4 })).rejects.toMatchObject({
        code: 'edit_conflict',
      });
      await expect(registry.settings.put('stages', 2, { expectedVersion: 0 })).rejects.toMatchObject({
        code: 'edit_conflict',
      });
      expect(await registry.settings.history('stages')).toHaveLength(1);
    });
  });
}
