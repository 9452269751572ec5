import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Depot, type Profile, type SnapshotInput, snapshotSchema, type Vehicle } from '@tallybay/contracts';
import { CATALOGUE_VERSION, createAccumulator, createReader, planLog } from '@tallybay/decode';
import { commitStaged, initLake, Lake, LogWriter, readRankingInput, stageSnapshot } from '@tallybay/lake';
import {
  DEPOTS,
  fleetProfiles,
  type LogEntry,
  plans,
  type ResolvedOptions,
  VehicleLife,
  type VehicleTruth,
} from '@tallybay/synthetic-fleet';
import { vehicleOf } from './fleet/eval-vehicle.js';
import type { SeedResult } from './measures/vehicle-week.js';
import { runSeed } from './run-seed.js';

const HEAD_BYTES = 65_536;
const OWNER = 'eval';

/** The whole path of a small fleet: what recorders write, read byte by byte, into a lake, and its facts by SQL. */
export async function runThroughLake(options: ResolvedOptions): Promise<SeedResult> {
  const directory = mkdtempSync(join(tmpdir(), 'tallybay-eval-'));
  try {
    initLake(directory);
    const vehicles: Vehicle[] = [];
    const truths: VehicleTruth[] = [];
    for (const plan of plans(options)) {
      const life = new VehicleLife(options, plan);
      const profiles = fleetProfiles(plan);
      for (const file of life.files()) {
        const bytes = Buffer.concat([...file.chunks]);
        if (file.kind === 'snapshot') await storeSnapshot(directory, { vehicleId: plan.id, path: file.path, bytes });
        else
          await storeLog(directory, {
            vehicleId: plan.id,
            bytes,
            entry: file.entry(),
            profiles,
            timeZone: plan.depot.timeZone,
          });
      }
      vehicles.push(vehicleOf(plan));
      truths.push(life.truth());
    }
    return await rankFromLake(directory, { options, vehicles, truths });
  } finally {
    rmSync(directory, { recursive: true, force: true });
  }
}

async function rankFromLake(
  directory: string,
  { options, vehicles, truths }: { options: ResolvedOptions; vehicles: Vehicle[]; truths: VehicleTruth[] },
): Promise<SeedResult> {
  const depots: Depot[] = DEPOTS.map(({ id, name, timeZone }) => ({ id, name, timeZone }));
  const lake = await Lake.open(directory, { threads: 1 });
  try {
    return await runSeed(options, truths, async (week) => {
      const asked = { asOfMs: Number.POSITIVE_INFINITY, history: [] };
      return (await readRankingInput(lake, { vehicles, depots }, week, asked)).vehicles;
    });
  } finally {
    lake.close();
  }
}

const identity = (vehicleId: string, path: string) => ({
  ...{ vehicleId, uploadId: path.replace(/[^A-Za-z0-9]+/g, '-'), recorderId: null, fileName: path },
  catalogueVersion: CATALOGUE_VERSION,
});

interface StoredLog {
  vehicleId: string;
  bytes: Buffer;
  entry: LogEntry;
  profiles: Profile[];
  timeZone: string;
}

/** A second copy is what receiving would refuse as known; it is passed over here. */
async function storeLog(lake: string, { vehicleId, bytes, entry, profiles, timeZone }: StoredLog): Promise<void> {
  if (entry.duplicateOf !== null) return;
  const { recordedAt } = entry.send;
  const profile = profiles.find(({ recorder }) => recorder === entry.recorder);
  const hints = {
    ...{ timeZone, fileName: entry.file.slice(entry.file.lastIndexOf('/') + 1) },
    ...(profile ? { profile } : {}),
    ...(recordedAt === undefined ? {} : { recordedAtMs: Date.parse(recordedAt) }),
  };
  const planned = planLog(bytes.subarray(0, HEAD_BYTES), hints);
  if (!planned.ok) throw new Error(`${entry.file}: ${planned.problem.detail}`);
  const writer = new LogWriter(lake, identity(vehicleId, entry.file), planned.plan, OWNER);
  const accumulator = createAccumulator(planned.plan);
  const reader = createReader(planned.plan, (batch) => {
    accumulator.add(batch);
    writer.add(batch);
  });
  reader.push(bytes);
  await commitStaged(lake, writer.finish(accumulator.finish(reader.finish())));
}

async function storeSnapshot(
  lake: string,
  { vehicleId, path, bytes }: { vehicleId: string; path: string; bytes: Buffer },
): Promise<void> {
  const snapshot: SnapshotInput = snapshotSchema.parse(JSON.parse(bytes.toString('utf8')));
  await commitStaged(lake, stageSnapshot(lake, identity(vehicleId, path), snapshot, OWNER));
}
