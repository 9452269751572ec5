import type { Fleet } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

export const fleet: Fleet = {
  name: 'Kestrel Valley Water District',
  depots: [
    { id: 'north', name: 'North yard', timeZone: 'America/Denver' },
    { id: 'Zeta', name: 'Zeta yard', timeZone: 'America/Denver' },
  ],
  vehicles: [
    { id: 'KV-101', vehicleClass: 'pickup', depot: 'north', vin: '1ftfw1et5dfc10312', modelYear: 2013, fuel: 'gas' },
    {
      ...{ id: 'KV-102', name: 'Jetter', vehicleClass: 'vacuum', depot: 'Zeta', inspectionDue: '2026-11-30' },
      route: 'North mains round',
    },
  ],
  assignments: [
    { recorder: 'R-7', vehicle: 'KV-101', from: '2026-01-01T00:00:00Z' },
    { recorder: 'R-7', vehicle: 'KV-102', from: '2026-03-01T08:00:00+02:00' },
  ],
  profiles: [{ id: 'P-7', recorder: 'R-7', delimiter: ';', channels: { 'Kühlmittel [°C]': { signal: null } } }],
};

export function describeFleet({ open }: RegistrySource): void {
  describe('a fleet document', () => {
    it('is registered whole, and a second import changes nothing', async () => {
      const registry = await open();
      const first = await registry.importFleet(fleet);
      expect(first.vehicles).toEqual({ added: 2, changed: 0, unchanged: 0 });
      expect(first.assignments).toEqual({ added: 2, changed: 0, unchanged: 0 });
      const again = await registry.importFleet(fleet);
      for (const counts of Object.values(again)) expect(counts).toMatchObject({ added: 0, changed: 0 });
      expect((await registry.vehicles.get('KV-101'))?.version).toBe(1);
      expect(await registry.profiles.forRecorder('R-7')).toEqual({ ...fleet.profiles[0], version: 1 });
    });

    it('keeps the route of a vehicle, finds by it, and takes it away again', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      const route = 'North mains round';
      expect((await registry.vehicles.list({ route })).map(({ id }) => id)).toEqual(['KV-102']);
      const { version, route: _, ...without } = (await registry.vehicles.get('KV-102'))!;
      await registry.vehicles.upsert(without, { expectedVersion: version });
      expect(await registry.vehicles.get('KV-102')).toEqual({ ...without, version: version + 1 });
      expect(await registry.vehicles.list({ route })).toEqual([]);
    });

    it('sorts ids by bytes on every database', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      expect((await registry.depots.list()).map((depot) => depot.id)).toEqual(['Zeta', 'north']);
    });

    it.each([
      ['an unknown depot', { vehicles: [{ id: 'X', vehicleClass: 'van', depot: 'south' }] }, 'vehicles.0.depot'],
      [
        'an unknown vehicle',
        { assignments: [{ recorder: 'R', vehicle: 'no', from: '2026-01-01T00:00:00Z' }] },
        'assignments.0.vehicle',
      ],
      ['an id twice', { depots: [...fleet.depots, fleet.depots[0]] }, 'depots.2.id'],
      [
        'a time zone that does not exist',
        { depots: [{ id: 'a', name: 'A', timeZone: 'Mars/Base' }] },
        'depots.0.timeZone',
      ],
      [
        'a VIN twice',
        { vehicles: [fleet.vehicles[0], { ...fleet.vehicles[1], vin: '1FTFW1ET5DFC10312' }] },
        'vehicles.1.vin',
      ],
      [
        'two profiles of a recorder',
        { profiles: [fleet.profiles[0], { id: 'P-8', recorder: 'R-7' }] },
        'profiles.1.recorder',
      ],
    ])('is refused with %s, and nothing of it stays', async (_case, part, field) => {
      const registry = await open();
      await expect(registry.importFleet({ ...fleet, ...part } as Fleet)).rejects.toMatchObject({
        code: 'body_invalid',
        options: { place: { field } },
      });
      expect(await registry.depots.list()).toEqual([]);
    });

    it('lets two vehicles swap their VINs', async () => {
      const registry = await open();
      const [first, second] = fleet.vehicles as [Fleet['vehicles'][0], Fleet['vehicles'][0]];
      const vin = '1FMCU0GX3DUA00001';
      await registry.importFleet({ ...fleet, vehicles: [first, { ...second, vin }] });
      await registry.importFleet({
        ...fleet,
        vehicles: [
          { ...first, vin },
          { ...second, vin: first.vin },
        ],
      });
      expect((await registry.vehicles.findByVin(vin))?.id).toBe('KV-101');
      expect((await registry.vehicles.findByVin('1ftfw1et5dfc10312'))?.id).toBe('KV-102');
    });
  });

  describe('a recorder', () => {
    it('belongs to the vehicle of the assignment in force, from its instant on, and to none before the first', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      const at = (iso: string) => registry.recorders.vehicleAt('R-7', Date.parse(iso));
      expect(await at('2025-12-31T23:59:59.999Z')).toBeNull();
      expect(await at('2026-01-01T00:00:00Z')).toBe('KV-101');
      expect(await at('2026-03-01T05:59:59.999Z')).toBe('KV-101');
      expect(await at('2026-03-01T06:00:00Z')).toBe('KV-102');
      expect(await registry.recorders.vehicleAt('R-8', Date.now())).toBeNull();
    });

    it('does not fall back to an older vehicle when the newer one is removed', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      await registry.vehicles.remove('KV-102');
      expect(await registry.recorders.vehicleAt('R-7', Date.parse('2026-04-01T00:00:00Z'))).toBe('KV-102');
    });

    it('is assigned anew at the same instant to correct a mistake, and taken back', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      const from = '2026-03-01T06:00:00.000Z';
      await registry.recorders.assign({ recorder: 'R-7', vehicle: 'KV-101', from });
      expect(await registry.recorders.list({ recorder: 'R-7' })).toHaveLength(2);
      expect(await registry.recorders.remove('R-7', Date.parse(from))).toBe(true);
      expect(await registry.recorders.remove('R-7', Date.parse(from))).toBe(false);
      await expect(registry.recorders.assign({ recorder: 'R-7', vehicle: 'gone', from })).rejects.toMatchObject({
        code: 'vehicle_not_found',
      });
    });
  });

  describe('edits', () => {
    it('made against an older version are refused and say both versions', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      const depot = { id: 'north', name: 'North', timeZone: 'UTC' };
      expect((await registry.depots.upsert(depot, { expectedVersion: 1 })).version).toBe(2);
      const late = registry.depots.upsert({ ...depot, name: 'late' }, { expectedVersion: 1 });
      await expect(late).rejects.toMatchObject({ code: 'edit_conflict' });
      await expect(late).rejects.toThrow(/version 2.*version 1/);
      await expect(registry.depots.upsert(depot, { expectedVersion: 0 })).rejects.toMatchObject({
        code: 'edit_conflict',
      });
      await expect(
        registry.profiles.upsert({ id: 'P-9', recorder: 'R-9' }, { expectedVersion: 3 }),
      ).rejects.toMatchObject({
        code: 'edit_conflict',
      });
    });

    it('made at once have one winner', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      const edits = ['a', 'b', 'c', 'd'].map((name) =>
        registry.vehicles.upsert(
          { id: 'KV-101', name, vehicleClass: 'pickup', depot: 'north' },
          { expectedVersion: 1 },
        ),
      );
      const outcomes = await Promise.allSettled(edits);
      expect(outcomes.filter((outcome) => outcome.status === 'fulfilled')).toHaveLength(1);
      expect((await registry.vehicles.get('KV-101'))?.version).toBe(2);
    });

    it('do not leave vehicles without a depot, or two with one VIN', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      await expect(registry.depots.remove('north')).rejects.toMatchObject({ code: 'record_in_use' });
      const vehicle = { id: 'KV-103', vehicleClass: 'van', depot: 'north' };
      await expect(registry.vehicles.upsert({ ...vehicle, depot: 'south' })).rejects.toMatchObject({
        code: 'body_invalid',
      });
      await expect(registry.vehicles.upsert({ ...vehicle, vin: '1FTFW1ET5DFC10312' })).rejects.toThrow(/KV-101/);
      await registry.vehicles.remove('KV-101');
      expect(await registry.depots.remove('north')).toBe(true);
      expect(await registry.depots.remove('north')).toBe(false);
    });

    it('list vehicles of a depot or a class', async () => {
      const registry = await open();
      await registry.importFleet(fleet);
      expect((await registry.vehicles.list({ depot: 'Zeta' })).map((vehicle) => vehicle.id)).toEqual(['KV-102']);
      expect((await registry.vehicles.list({ vehicleClass: 'pickup' })).map((vehicle) => vehicle.id)).toEqual([
        'KV-101',
      ]);
      expect(await registry.vehicles.get('KV-102')).toEqual({ ...fleet.vehicles[1], version: 1 });
    });
  });
}
