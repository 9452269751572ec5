/**
 * The lake's tables as data: the writer, the empty schema files, the views and the documentation all come from here.
 * Times are UTC instants. Every table carries the upload it came from, so that a new decode replaces exactly its rows.
 */
import { SIGNALS } from '@tallybay/decode';

/** `timestamp` is an instant; `local_timestamp` and `date` (of analysts' answers) have no zone. */
export type ColumnType =
  | 'string'
  | 'int64'
  | 'int32'
  | 'double'
  | 'float'
  | 'bool'
  | 'timestamp'
  | 'local_timestamp'
  | 'date';

export interface ColumnRow {
  name: string;
  type: ColumnType;
  comment: string;
}

export const LAKE_TABLES = {
  samples: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload the row came from'),
    col('row_no', 'int64', 'data row in the uploaded file, from 1'),
    col('time', 'timestamp', 'instant of the row'),
    ...SIGNALS.map((signal) => col(signal.id, 'float', `${signal.label} [${signal.unit}]`)),
  ],
  unmapped: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('row_no', 'int64', 'data row; the text holds until the next row of this channel'),
    col('time', 'timestamp', 'instant of the row'),
    col('channel', 'string', 'header as the recorder wrote it'),
    col('text', 'string', 'cell as written; null = became blank'),
  ],
  drives: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('drive_id', 'string', 'upload id and number of the drive in it'),
    col('segment', 'int32', 'segment of the log'),
    col('started_at', 'timestamp', 'first row with the engine running'),
    col('ended_at', 'timestamp', 'last row of the drive'),
    col('seconds', 'double', 'engine-on seconds by the hold rule'),
    col('distance_km', 'double', 'distance driven [km]; null = unknown'),
    col('distance_source', 'string', 'odometer or speed'),
    col('fuel_l', 'double', 'fuel used [L]; null = unknown'),
    col('rows', 'int64', 'data rows'),
  ],
  dwell: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('segment', 'int32', 'segment of the log'),
    col('drive_id', 'string', 'drive; null while the engine was off'),
    col('started_at', 'timestamp', 'start of the segment; dwell counts for the week of this instant'),
    col('signal', 'string', 'signal id'),
    col('low', 'double', 'lower bin edge, inclusive'),
    col('high', 'double', 'upper bin edge, exclusive'),
    col('seconds', 'double', 'seconds in the bin by the hold rule'),
    col('value_seconds', 'double', 'integral of the value over those seconds'),
    col('min', 'double', 'lowest value seen in the bin'),
    col('max', 'double', 'highest value seen in the bin'),
  ],
  signal_stats: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('segment', 'int32', 'segment of the log'),
    col('drive_id', 'string', 'drive; null while the engine was off'),
    col('started_at', 'timestamp', 'start of the segment'),
    col('signal', 'string', 'signal id'),
    col('channel', 'string', 'header as the recorder wrote it'),
    col('source_unit', 'string', 'unit the recorder wrote'),
    col('confidence', 'double', 'of the mapping, 0..1'),
    col('valid', 'int64', 'valid values'),
    col('blank', 'int64', 'rows without a value'),
    col('min', 'double', 'lowest valid value'),
    col('min_at', 'timestamp', 'when first'),
    col('max', 'double', 'highest valid value'),
    col('max_at', 'timestamp', 'when first'),
    col('first', 'double', 'first valid value'),
    col('last', 'double', 'last valid value'),
    col('mean', 'double', 'time-weighted mean'),
    col('seconds', 'double', 'counted seconds'),
    col('out_of_range', 'int64', 'values outside the plausible range'),
    col('unreadable', 'int64', 'cells that are no number'),
    col('jump', 'int64', 'values that jumped faster than physics allows'),
    col('stuck_seconds', 'double', 'seconds the value stood still past the limit while the engine worked'),
  ],
  markers: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('row_no', 'int64', 'data row'),
    col('time', 'timestamp', 'instant'),
    col('text', 'string', 'what the recorder wrote in its marker column'),
  ],
  crossings: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('crossing_id', 'string', 'the same whenever the upload is decoded again under the same limit'),
    col('signal', 'string', 'signal id'),
    col('direction', 'string', 'high = at or above the limit, low = at or below'),
    col('stage', 'string', 'watch, caution, alarm or severe'),
    col('limit_value', 'double', "the limit, in the signal's unit"),
    col('written', 'string', 'the limit as a person wrote it'),
    col('started_at', 'timestamp', 'first value beyond the limit'),
    col('ended_at', 'timestamp', 'back past the hysteresis, or the last value before a gap or the end'),
    col('seconds', 'double', 'seconds beyond the limit by the hold rule'),
    col('worst', 'double', "highest or lowest value, in the signal's unit"),
    col('worst_at', 'timestamp', 'when that was first'),
    col('vehicle_speed_kmh', 'double', 'speed at the worst value [km/h]'),
    col('engine_load_pct', 'double', 'engine load at the worst value [%]'),
    col('engine_speed_rpm', 'double', 'engine speed at the worst value [rpm]'),
    col('ambient_temp_c', 'double', 'ambient temperature at the worst value [degC]'),
    col('grade_pct', 'double', 'grade of the road, recorded or from altitude or air pressure [%]'),
    col('load_2min_pct', 'double', 'mean engine load of the two minutes before the worst value [%]'),
  ],
  snapshots: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('time', 'timestamp', 'instant of the snapshot'),
    col('odometer_km', 'double', 'odometer [km]'),
    col('engine_hours', 'double', 'engine hours [h]'),
    col('lamp_on', 'bool', 'malfunction indicator lamp commanded on; null = not read'),
    col('ignition', 'string', 'spark or compression'),
    col('read_pending', 'bool', 'pending codes were read'),
    col('read_confirmed', 'bool', 'confirmed codes were read'),
    col('read_permanent', 'bool', 'permanent codes were read'),
    col('read_monitors', 'bool', 'monitors were read'),
    col('modules_pending', 'string', 'modules that answered for pending codes, JSON list; null = the whole vehicle'),
    col(
      'modules_confirmed',
      'string',
      'modules that answered for confirmed codes, JSON list; null = the whole vehicle',
    ),
    col(
      'modules_permanent',
      'string',
      'modules that answered for permanent codes, JSON list; null = the whole vehicle',
    ),
    col('code_count', 'int32', 'codes in the snapshot'),
    col('warm_ups_since_clear', 'int32', 'PID 30'),
    col('distance_since_clear_km', 'double', 'PID 31 [km]'),
    col('minutes_since_clear', 'double', 'PID 4E [min]'),
    col('distance_with_lamp_km', 'double', 'PID 21 [km]'),
    col('minutes_with_lamp', 'double', 'PID 4D [min]'),
  ],
  codes: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('time', 'timestamp', 'instant of the snapshot'),
    col('code', 'string', 'trouble code'),
    col('status', 'string', 'pending, confirmed or permanent'),
    col('module', 'string', 'control module'),
    col('failure_type', 'string', 'failure type byte, hex'),
    col('occurrences', 'int32', 'occurrence count'),
  ],
  monitors: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('time', 'timestamp', 'instant of the snapshot'),
    col('monitor', 'string', 'monitor id'),
    col('supported', 'bool', 'the vehicle has this monitor'),
    col('complete', 'bool', 'it has completed since codes were cleared; null where not supported'),
  ],
  uploads: [
    col('vehicle_id', 'string', 'vehicle'),
    col('upload_id', 'string', 'upload'),
    col('kind', 'string', 'log or snapshot'),
    col('recorder_id', 'string', 'recorder'),
    col('file_name', 'string', 'name the sender gave'),
    col('first_at', 'timestamp', 'first row'),
    col('last_at', 'timestamp', 'last row'),
    col('rows', 'int64', 'data rows in the file'),
    col('rows_kept', 'int64', 'rows in the lake'),
    col('gaps', 'int32', 'steps longer than the hold limit'),
    col('longest_gap_seconds', 'double', 'longest gap'),
    col('backward_steps', 'int32', 'rows whose time is before the row above'),
    col('duplicate_times', 'int32', 'rows with the time of the row above'),
    col('counted_seconds', 'double', 'seconds by the hold rule'),
    col('catalogue_version', 'string', 'signal catalogue used'),
  ],
} as const satisfies Record<string, readonly ColumnRow[]>;

export type LakeTable = keyof typeof LAKE_TABLES;

function col<N extends string, T extends ColumnType>(name: N, type: T, comment: string) {
  return { name, type, comment } as const;
}
