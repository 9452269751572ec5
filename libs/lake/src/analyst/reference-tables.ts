import type { ColumnRow, ColumnType } from '../tables.js';

/**
 * What people decide (the registry) and what the rules make of the facts (rankings, verdicts, histories of codes, episodes),
 * written into the lake as one small file a table, `reference/<table>.parquet`, so that SQL and any other engine can join it.
 * They are copies: apps/api writes them anew from the registry, the published rankings and the facts.
 */
export const REFERENCE_TABLES = {
  vehicles: [
    col('vehicle_id', 'string', 'vehicle'),
    col('name', 'string', 'what people call it'),
    col('vin', 'string', 'vehicle identification number'),
    col('vehicle_class', 'string', 'class that its limits and its comparison go by'),
    col('depot', 'string', 'depot'),
    col('depot_name', 'string', "the depot's name"),
    col('route', 'string', 'round or district that it usually works; null = none is registered'),
    col('time_zone', 'string', "the depot's IANA time zone: its days and weeks are counted there"),
    col('model_year', 'int32', 'model year'),
    col('fuel', 'string', 'gas, diesel or other'),
    col('inspection_due', 'date', 'date that the inspection is due'),
  ],
  upload_states: [
    col('upload_id', 'string', 'upload'),
    col('vehicle_id', 'string', 'vehicle; null while it is not known'),
    col('kind', 'string', 'log or snapshot'),
    col('state', 'string', 'how far it is: waiting, queued, stored, failed …'),
    col('recorder_id', 'string', 'recorder'),
    col('file_name', 'string', 'name the sender gave'),
    col('bytes', 'int64', 'size as sent [B]'),
    col('received_at', 'timestamp', 'when it came in'),
    col('stored_at', 'timestamp', 'when its rows were in the lake'),
    col('problem', 'string', 'what it waits for or why it failed'),
  ],
  episodes: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('signal', 'string', 'signal id'),
    col('stage', 'string', 'highest stage that it reached'),
    col('limit_value', 'double', 'limit of that stage [degC]'),
    col('started_at', 'timestamp', 'first value at or above the limit'),
    col('ended_at', 'timestamp', 'back below the limit less its hysteresis'),
    col('seconds', 'double', 'seconds of it by the hold rule'),
    col('degree_minutes', 'double', 'integral above the limit [degC min]'),
    col('worst', 'double', 'highest value [degC]'),
    col('worst_at', 'timestamp', 'when that was'),
    col('vehicle_speed_kmh', 'double', 'speed at the worst value [km/h]'),
    col('engine_load_pct', 'double', 'engine load at the worst value [%]'),
    col('engine_speed_rpm', 'double', 'engine speed at the worst value [rpm]'),
    col('ambient_temp_c', 'double', 'ambient temperature at the worst value [degC]'),
  ],
  code_history: [
    col('vehicle_id', 'string', 'vehicle'),
    col('code', 'string', 'trouble code'),
    col('text', 'string', 'what the code means'),
    col('module', 'string', 'control module'),
    col('status', 'string', 'pending, confirmed or permanent'),
    col('first_seen_at', 'timestamp', 'first snapshot that showed it'),
    col('last_seen_at', 'timestamp', 'last snapshot that showed it'),
    col('active', 'bool', 'in the newest snapshot that read this status'),
    col('spans', 'int32', 'times it was there without a break'),
    col('returns', 'int32', 'times it came back after it was gone or cleared'),
    col('last_return_at', 'timestamp', 'when it last came back'),
  ],
  verdicts: [
    col('vehicle_id', 'string', 'vehicle'),
    col('programme', 'string', 'inspection programme'),
    col('verdict', 'string', 'would_pass, would_be_refused, would_fail, not_enough_data or not_subject'),
    col('blocking', 'string', 'monitors that stand in the way, comma-separated'),
    col('why', 'string', 'reasons in words'),
    col('newest_snapshot_at', 'timestamp', 'newest snapshot that it rests on'),
    col('as_of', 'timestamp', 'when the verdict was made'),
  ],
  inspections: [
    col('vehicle_id', 'string', 'vehicle'),
    col('depot', 'string', 'depot'),
    col('due', 'date', 'date that the inspection is due'),
    col('due_in_days', 'int32', "calendar days until then in the depot's zone, negative when past [d]"),
    col('programme', 'string', 'inspection programme of the verdict'),
    col('verdict', 'string', 'readiness verdict for that programme'),
    col('as_of', 'timestamp', 'when the days were counted'),
  ],
  rankings: [
    col('week', 'string', 'ISO week'),
    col('revision', 'int32', 'revision of the ranking'),
    col('newest', 'bool', 'the newest revision of its week'),
    col('provisional', 'bool', 'the week was not over when it was ranked'),
    col('rule_version', 'string', 'rules it was made with'),
    col('rank', 'int32', 'place, 1 is first; null = could not be ranked'),
    col('vehicle_id', 'string', 'vehicle'),
    col('vehicle_class', 'string', 'class at that time'),
    col('depot', 'string', 'depot at that time'),
    col('route', 'string', 'usual route at that time; null = none, or the ranking is older than routes'),
    col('score', 'double', 'score 0..1'),
    col('heat', 'double', 'heat component 0..1; null = no data'),
    col('codes', 'double', 'codes component 0..1; null = no data'),
    col('readiness', 'double', 'readiness component 0..1; null = no data'),
    col('engine_hours', 'double', 'engine hours behind it [h]'),
    col('distance_km', 'double', 'distance behind it [km]'),
    col('drives', 'int32', 'drives behind it'),
    col('coverage', 'double', 'share of the components that had data, 0..1'),
    col('why', 'string', 'its reasons in words, strongest first; or why it could not be ranked'),
  ],
} as const satisfies Record<string, readonly ColumnRow[]>;

export type ReferenceTable = keyof typeof REFERENCE_TABLES;

/** A row of a reference table by column name; null is null; timestamps are epoch ms, dates are days since 1970-01-01. */
export type ReferenceRow<T extends ReferenceTable> = {
  [C in (typeof REFERENCE_TABLES)[T][number]['name']]: string | number | boolean | null;
};

function col<N extends string, T extends ColumnType>(name: N, type: T, comment: string) {
  return { name, type, comment } as const;
}
