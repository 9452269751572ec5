import type { SnapshotInput } from '@tallybay/contracts';
import type { UploadIdentity } from './log-writer.js';
import { type StagedFile, type StagedUpload, stagingFile } from './staged.js';
import { type TableRow, writeTableFile } from './table-file.js';
import type { LakeTable } from './tables.js';

/** A snapshot whose raw responses, if any, have been decoded into its fields. */
export type DecodedSnapshot = Omit<SnapshotInput, 'raw'>;

/** Stages the tables of one snapshot: `snapshots`, its `codes` and `monitors`, and `uploads`. */
export function stageSnapshot(
  lake: string,
  identity: UploadIdentity,
  snapshot: DecodedSnapshot,
  owner: string,
): StagedUpload {
  const files: StagedFile[] = [];
  const { attempt = 0 } = identity;
  const key = { vehicle_id: identity.vehicleId, upload_id: identity.uploadId };
  const at = Date.parse(snapshot.time);
  const write = <T extends LakeTable>(table: T, rows: TableRow<T>[]) => {
    if (rows.length === 0) return;
    const staging = stagingFile(lake, identity.uploadId, { table, part: 0 }, { attempt, owner });
    writeTableFile(staging, table, rows);
    files.push({ table, part: 0, staging });
  };
  write('snapshots', [snapshotRow(snapshot, key, at)]);
  write(
    'codes',
    (snapshot.codes ?? []).map((code) => ({
      ...key,
      time: at,
      code: code.code,
      status: code.status,
      module: code.module ?? null,
      failure_type: code.failureType ?? null,
      occurrences: code.occurrences ?? null,
    })),
  );
  write(
    'monitors',
    (snapshot.monitors ?? []).map((monitor) => ({
      ...key,
      time: at,
      monitor: monitor.id,
      supported: monitor.supported,
      complete: monitor.supported ? monitor.complete : null,
    })),
  );
  write('uploads', [
    {
      ...key,
      kind: 'snapshot',
      recorder_id: identity.recorderId,
      file_name: identity.fileName,
      first_at: at,
      last_at: at,
      rows: 1,
      rows_kept: 1,
      catalogue_version: identity.catalogueVersion,
    },
  ]);
  return { vehicleId: identity.vehicleId, uploadId: identity.uploadId, attempt, files };
}

function snapshotRow(
  snapshot: DecodedSnapshot,
  key: { vehicle_id: string; upload_id: string },
  at: number,
): TableRow<'snapshots'> {
  const read = new Set(snapshot.read ?? servicesImplied(snapshot));
  const counters = snapshot.counters ?? {};
  return {
    ...key,
    time: at,
    odometer_km: snapshot.odometerKm ?? null,
    engine_hours: snapshot.engineHours ?? null,
    lamp_on: snapshot.lampOn ?? null,
    ignition: snapshot.ignition ?? null,
    read_pending: read.has('pending'),
    read_confirmed: read.has('confirmed'),
    read_permanent: read.has('permanent'),
    read_monitors: read.has('monitors'),
    modules_pending: listText(snapshot.modulesRead?.pending),
    modules_confirmed: listText(snapshot.modulesRead?.confirmed),
    modules_permanent: listText(snapshot.modulesRead?.permanent),
    code_count: snapshot.codes?.length ?? null,
    warm_ups_since_clear: counters.warmUpsSinceClear ?? null,
    distance_since_clear_km: counters.distanceSinceClearKm ?? null,
    minutes_since_clear: counters.minutesSinceClear ?? null,
    distance_with_lamp_km: counters.distanceWithLampKm ?? null,
    minutes_with_lamp: counters.minutesWithLamp ?? null,
  };
}

const listText = (modules: readonly string[] | undefined): string | null =>
  modules === undefined ? null : JSON.stringify([...modules].sort());

/**
 * A sender that does not say what was read has read what the body carries: a list of codes stands for all three code
 * services only when it is empty or names them; otherwise just for the statuses it shows, plus confirmed.
 */
export function servicesImplied(snapshot: DecodedSnapshot): NonNullable<SnapshotInput['read']> {
  const read: NonNullable<SnapshotInput['read']> = [];
  if (snapshot.codes) {
    read.push('confirmed');
    for (const status of ['pending', 'permanent'] as const)
      if (snapshot.codes.length === 0 || snapshot.codes.some((code) => code.status === status)) read.push(status);
  }
  if (snapshot.lampOn !== undefined) read.push('lamp');
  if (snapshot.monitors) read.push('monitors');
  if (snapshot.counters) read.push('counters');
  return read;
}
