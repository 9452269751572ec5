import type { LimitEvent } from '@tallybay/registry';
import { describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

const START = '2026-10-06T14:00:00.000Z';

const event = (id: string, uploadId = 'u1'): LimitEvent => ({
  ...{ kind: 'limit_exceeded', at: START, id, uploadId, vehicleId: 'KV-101', signal: 'engine_oil_pressure_kpa' },
  ...{ unit: 'kPa', direction: 'low', stage: 'alarm', limit: 68.9, start: START, end: START, seconds: 12 },
  ...{ worst: 40.5, worstAt: START, context: { engine_load_pct: null, vehicle_speed_kmh: 61.2 } },
});

export function describeLimits({ open }: RegistrySource): void {
  describe('a crossing on its way to the event topic', () => {
    it('is told once: it stays to be sent until it is marked, and is not sent again by another decode', async () => {
      const { limitEvents } = await open();
      await limitEvents.put('u1', [event('b'), event('a')]);
      expect(await limitEvents.unsent('u1')).toEqual([event('b'), event('a')]);
      expect(await limitEvents.unsent('u2')).toEqual([]);
      // A crash before it was sent: the same upload comes again.
      await limitEvents.put('u1', [event('b'), event('a')]);
      expect(await limitEvents.unsent('u1')).toHaveLength(2);
      await limitEvents.markSent('u1');
      await limitEvents.put('u1', [event('b'), event('a'), event('c')]);
      expect(await limitEvents.unsent('u1')).toEqual([event('c')]);
    });

    it('is dropped when a newer decode does not find it and it was not told', async () => {
      const { limitEvents } = await open();
      await limitEvents.put('u1', [event('a'), event('b')]);
      await limitEvents.put('u1', [event('b')]);
      expect((await limitEvents.unsent('u1')).map(({ id }) => id)).toEqual(['b']);
      await limitEvents.put('u1', []);
      expect(await limitEvents.unsent('u1')).toEqual([]);
    });

    it('may be one of many', async () => {
      const { limitEvents } = await open();
      const many = Array.from({ length: 1203 }, (_item, index) => event(`e${index}`));
      await limitEvents.put('u1', many);
      expect((await limitEvents.unsent('u1')).map(({ id }) => id)).toEqual(many.map(({ id }) => id));
    });
  });

  describe('a reset of lowest and highest', () => {
    it('is kept with who, why and which signals, newest first', async () => {
      let nowMs = Date.parse(START);
      const { extremesResets } = await open(() => nowMs);
      const first = await extremesResets.add('KV-101', {
        by: 'kim',
        reason: 'pump',
        signals: ['engine_oil_pressure_kpa'],
      });
      nowMs += 60_000;
      const second = await extremesResets.add('KV-101', { by: 'lee', reason: 'new engine' });
      await extremesResets.add('KV-102', { by: 'lee', reason: 'other' });
      expect(await extremesResets.ofVehicle('KV-101')).toEqual([second, first]);
      expect(first).toEqual({ at: START, by: 'kim', reason: 'pump', signals: ['engine_oil_pressure_kpa'] });
      expect(second.signals).toBeNull();
    });
  });
}
