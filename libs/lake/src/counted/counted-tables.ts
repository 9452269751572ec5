/**
 * What the views of counted time are made of, empty while nothing overlaps. `counted_signals.engine_seconds`: engine-on
 * seconds of the drive that count for the signal. `share` = all or part; what counts from elsewhere has no row.
 */
export const COUNTED_TABLES_SQL = `
CREATE TEMP TABLE shared_drives (drive_id VARCHAR);
CREATE TEMP TABLE counted_time (drive_id VARCHAR, seconds DOUBLE, share DOUBLE);
CREATE TEMP TABLE counted_signals (
  drive_id VARCHAR, signal VARCHAR, share VARCHAR, engine_seconds DOUBLE,
  seconds DOUBLE, mean DOUBLE, valid DOUBLE, min DOUBLE, max DOUBLE, first DOUBLE, last DOUBLE);
CREATE TEMP TABLE counted_bins (
  drive_id VARCHAR, signal VARCHAR, low DOUBLE, seconds DOUBLE, value_seconds DOUBLE, min DOUBLE, max DOUBLE);`;
