import { type ModulesRead, type SnapshotInput, snapshotSchema } from '@tallybay/contracts';
import { servicesImplied } from '@tallybay/lake';
import type { SnapshotFact } from '@tallybay/risk';

/** A snapshot file's bytes as the ranking sees them. @throws ZodError for a body that is no snapshot */
export function snapshotFact(uploadId: string, chunks: Iterable<Uint8Array>): SnapshotFact {
  const input = snapshotSchema.parse(JSON.parse(Buffer.concat([...chunks]).toString('utf8')));
  const read = new Set<string>(input.read ?? servicesImplied(input));
  return {
    ...{ uploadId, atMs: Date.parse(input.time) },
    ...{ odometerKm: input.odometerKm ?? null, engineHours: input.engineHours ?? null },
    ...{ lampOn: input.lampOn ?? null, ignition: input.ignition ?? null },
    read: {
      ...{ pending: read.has('pending'), confirmed: read.has('confirmed') },
      ...{ permanent: read.has('permanent'), monitors: read.has('monitors') },
    },
    ...(input.modulesRead ? { modulesRead: definite(input.modulesRead) } : {}),
    counters: countersOf(input),
    codes: (input.codes ?? []).map(({ code, status, module }) => ({ code, status, module: module ?? null })),
    monitors: input.monitors ?? [],
  };
}

const definite = (lists: ModulesRead): NonNullable<SnapshotFact['modulesRead']> =>
  Object.fromEntries(Object.entries(lists).filter(([, modules]) => modules !== undefined));

function countersOf({ counters = {} }: SnapshotInput): SnapshotFact['counters'] {
  return {
    warmUpsSinceClear: counters.warmUpsSinceClear ?? null,
    distanceSinceClearKm: counters.distanceSinceClearKm ?? null,
    minutesSinceClear: counters.minutesSinceClear ?? null,
    distanceWithLampKm: counters.distanceWithLampKm ?? null,
    minutesWithLamp: counters.minutesWithLamp ?? null,
  };
}
