import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Fleet } from '@tallybay/contracts';
import { openRegistry, type Registry } from '@tallybay/registry';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { identifyVehicle } from '../../../../../apps/ingest/src/receive/identify.js';

const VIN = '1FTFW1ET5DFC10312';
const fleet: Fleet = {
  name: 'Kestrel Valley Water District',
  depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
  vehicles: ['KV-101', 'KV-102', 'KV-103'].map((id) => ({ id, vehicleClass: 'pickup', depot: 'north' })),
  assignments: [
    { recorder: 'R-1', vehicle: 'KV-101', from: '2026-01-01T00:00:00Z' },
    { recorder: 'R-2', vehicle: 'KV-102', from: '2026-01-01T00:00:00Z' },
  ],
  profiles: [],
};

describe('the vehicle of an upload', () => {
  const directory = mkdtempSync(join(tmpdir(), 'tallybay-identify-'));
  let registry: Registry;
  beforeAll(async () => {
    registry = await openRegistry({ kind: 'sqlite', file: join(directory, 'registry.sqlite') });
    await registry.importFleet({
      ...fleet,
      vehicles: fleet.vehicles.map((vehicle) => (vehicle.id === 'KV-101' ? { ...vehicle, vin: VIN } : vehicle)),
    });
  });
  afterAll(async () => {
    await registry.close();
    rmSync(directory, { recursive: true, force: true });
  });

  const asked = (named: string, recorder: string) =>
    identifyVehicle(registry, { named, vin: VIN, recorder, atMs: Date.UTC(2026, 8, 14) });

  it('is the one that all clues name', async () => {
    const found = await asked('KV-101', 'R-1');
    expect(found.vehicle).toBe('KV-101');
    expect(found.problem).toBeNull();
  });

  it('is not guessed where clues differ, and each vehicle is named once, with all that speaks for it', async () => {
    const found = await asked('KV-103', 'R-1');
    expect(found.vehicle).toBeNull();
    expect(found.problem?.detail).toBe(
      `The upload points to different vehicles: KV-103 (named by the upload), but KV-101 (VIN ${VIN} in the log, recorder R-1 sat there at 2026-09-14T00:00:00.000Z)`,
    );
  });

  it('may be three', async () => {
    const detail = (await asked('KV-103', 'R-2')).problem?.detail ?? '';
    for (const vehicle of ['KV-101', 'KV-102', 'KV-103']) expect(detail.split(vehicle)).toHaveLength(2);
  });
});
