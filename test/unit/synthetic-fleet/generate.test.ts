import { createHash } from 'node:crypto';
import { fleetSchema, snapshotSchema } from '@tallybay/contracts';
import {
  demoFleet,
  type FleetOptions,
  generateFleet,
  type Manifest,
  type TruthDocument,
} from '@tallybay/synthetic-fleet';
import { describe, expect, it } from 'vitest';

const SMALL: FleetOptions = {
  ...demoFleet,
  seed: 11,
  vehicles: 3,
  weeks: 1,
  rateHz: 1,
  scale: 0.3,
  maxDriveMinutes: 12,
};

/** Path -> content of a whole small fleet. */
function contents(options: FleetOptions): Map<string, Buffer> {
  const files = new Map<string, Buffer>();
  for (const file of generateFleet(options)) {
    const bytes = Buffer.concat([...file.chunks]);
    files.set(file.path, file.append ? Buffer.concat([files.get(file.path) as Buffer, bytes]) : bytes);
  }
  return files;
}

function hash(bytes: Buffer | undefined): string {
  return createHash('sha256')
    .update(bytes ?? '')
    .digest('hex');
}

describe('generateFleet', () => {
  const files = contents(SMALL);
  const json = (path: string): unknown => JSON.parse((files.get(path) as Buffer).toString());

  it('gives the same bytes for the same options', () => {
    const again = contents(SMALL);
    expect([...again.keys()]).toEqual([...files.keys()]);
    for (const [path, bytes] of files) expect(hash(again.get(path)), `seed 11 ${path}`).toBe(hash(bytes));
  });

  it('drives in the weather of the weeks that it is to be like, and so comes to the same heat under other dates', () => {
    const dated = contents({ ...SMALL, start: '2026-W10' });
    const exposures = (of: Map<string, Buffer>) =>
      (JSON.parse((of.get('truth.json') as Buffer).toString()) as TruthDocument).vehicles.map(({ weeks }) =>
        weeks.map(({ exposure }) => exposure),
      );
    expect(exposures(dated)).toEqual(exposures(files));
    const winter = contents({ ...SMALL, start: '2026-W10', likeWeek: null });
    expect(exposures(winter)).not.toEqual(exposures(files));
  });

  it('gives other bytes for another seed', () => {
    const other = contents({ ...SMALL, seed: 12, vehicles: 1 });
    expect(hash(other.get('truth.json'))).not.toBe(hash(files.get('truth.json')));
  });

  it('leaves every file of the others as it was when a vehicle is added', () => {
    const more = contents({ ...SMALL, vehicles: 4 });
    const logs = [...files.keys()].filter((path) => !path.endsWith('.json') || path.startsWith('snapshots/'));
    expect(logs.length).toBeGreaterThan(4);
    for (const path of logs) expect(hash(more.get(path)), `seed 11 ${path}`).toBe(hash(files.get(path)));
  });

  it('comes to the same truth when nobody reads the logs', () => {
    let truth = '';
    for (const file of generateFleet(SMALL)) if (file.path === 'truth.json') truth += Buffer.concat([...file.chunks]);
    expect(truth).toBe((files.get('truth.json') as Buffer).toString());
  });

  it('comes to the same truth when a reader gives up half way through a log', () => {
    let truth = '';
    for (const file of generateFleet({ ...SMALL, vehicles: 1 })) {
      if (file.kind === 'log') for (const _ of file.chunks) break;
      if (file.path === 'truth.json') truth += Buffer.concat([...file.chunks]);
    }
    expect(truth).toBe((contents({ ...SMALL, vehicles: 1 }).get('truth.json') as Buffer).toString());
  });

  it('writes fleet.json and snapshots in the shapes of the contracts', () => {
    expect(fleetSchema.parse(json('fleet.json')).vehicles).toHaveLength(3);
    const snapshots = [...files.keys()].filter((path) => path.startsWith('snapshots/'));
    expect(snapshots.length).toBeGreaterThan(0);
    for (const path of snapshots) snapshotSchema.parse(json(path));
  });

  it('lists every file in the manifest with the bytes it has', () => {
    const { files: entries } = json('manifest.json') as Manifest;
    const written = [...files.keys()].filter((path) => path.includes('/')).sort();
    expect(entries.map((entry) => entry.file).sort()).toEqual(written);
    for (const entry of entries)
      if (entry.kind === 'log') expect(entry.bytes, entry.file).toBe(files.get(entry.file)?.length);
  });

  it('refuses options it cannot make, naming value and limit', () => {
    expect(() => [...generateFleet({ vehicles: 0 })]).toThrow('vehicles 0 is outside 1 to 100000');
    expect(() => [...generateFleet({ start: '2025-W53' })]).toThrow('2025-W53');
    expect(() => [...generateFleet({ rateHz: 3 })]).toThrow('rateHz 3');
  });
});

describe('the demo fleet of seed 1', () => {
  // Logs are not pulled, so this is the physics only.
  const options = { ...demoFleet, seed: 1, rateHz: 1, maxChannels: 8 };
  let truthText = '';
  let manifestText = '';
  for (const file of generateFleet(options)) {
    if (file.path === 'truth.json') truthText += Buffer.concat([...file.chunks]);
    if (file.path === 'manifest.json') manifestText += Buffer.concat([...file.chunks]);
  }
  const truth = JSON.parse(truthText) as TruthDocument;
  const manifest = JSON.parse(manifestText) as Manifest;
  const lastWeek = (vehicle: TruthDocument['vehicles'][number]) =>
    vehicle.weeks.at(-1) as (typeof vehicle.weeks)[number];
  const role = (id: string) =>
    truth.vehicles.find((vehicle) => vehicle.role === id) as TruthDocument['vehicles'][number];

  it('has planted vehicles that are clearly hot in the last full week', () => {
    const hot = truth.vehicles.filter(
      (vehicle) =>
        vehicle.plantedOverheater && (lastWeek(vehicle).exposure.coolant_temp_c.stages['110']?.seconds as number) > 300,
    );
    expect(hot.length).toBeGreaterThanOrEqual(2);
  });

  it('keeps healthy vehicles out of the alarm band', () => {
    const healthy = truth.vehicles.filter((vehicle) => vehicle.faults.length === 0 && vehicle.role !== 'ten_minutes');
    expect(healthy.length).toBeGreaterThan(12);
    for (const vehicle of healthy)
      for (const week of vehicle.weeks) {
        const seconds = week.exposure.coolant_temp_c.stages['110']?.seconds as number;
        expect(seconds, `${vehicle.id} ${week.week}`).toBeLessThan(120);
        expect(week.exposure.coolant_temp_c.stages['116']?.seconds, `${vehicle.id} ${week.week}`).toBe(0);
      }
  });

  it('has a ten-minute vehicle that is hot for a moment', () => {
    const week = lastWeek(role('ten_minutes'));
    expect(week.engineHours * 60).toBeCloseTo(10, 1);
    expect(week.exposure.coolant_temp_c.stages['110']?.seconds).toBeGreaterThan(10);
    expect(week.exposure.coolant_temp_c.stages['116']?.seconds).toBe(0);
  });

  it('has a sensor stuck high on a vehicle that is not hot', () => {
    const vehicle = role('stuck_sensor');
    expect(vehicle.sensorFaults[0]).toMatchObject({ kind: 'stuck_high', value: 118 });
    expect(lastWeek(vehicle).exposure.coolant_temp_c.stages['110']?.seconds).toBe(0);
  });

  it('has a code that comes back after the shop cleared it', () => {
    const vehicle = role('returning_code');
    expect(vehicle.clears.length).toBeGreaterThan(1);
    expect(vehicle.codes.filter((event) => event.event === 'returned').length).toBeGreaterThan(0);
  });

  it('hides a code before the inspection', () => {
    const vehicle = role('hidden_clear');
    expect(vehicle.clears).toHaveLength(1);
    expect(vehicle.clears[0]).toMatchObject({ hidden: true });
    expect(vehicle.readiness.inspection.lampOn).toBe(false);
    expect(vehicle.readiness.inspection.federal).toBe('refused');
  });

  it('has a recorder that moved, an upload without a vehicle and one with a contradiction', () => {
    const entries = manifest.files.filter((entry) => entry.kind === 'log');
    const vehiclesOf = new Map<string, Set<string>>();
    for (const entry of entries)
      vehiclesOf.set(entry.recorder, (vehiclesOf.get(entry.recorder) ?? new Set()).add(entry.vehicle));
    expect([...vehiclesOf.values()].filter((vehicles) => vehicles.size > 1)).toHaveLength(1);
    const waiting = entries.map((entry) => entry.expect.waitsFor).filter((reason) => reason !== null);
    expect(waiting.sort()).toEqual(['vehicle_contradiction', 'vehicle_missing']);
    expect(role('no_coolant_channel').hasCoolantChannel).toBe(false);
  });
});
