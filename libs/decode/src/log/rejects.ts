/** Why a row was left out. Keys of `ReadCounts.rowsRejectedBy`; a closed list. */
export const ROW_REJECTS = {
  row_short: 'has fewer cells than the header',
  row_long: 'has more cells than the header',
  row_cut: 'ends with the file, before its last cell',
  row_too_long: 'is longer than the limit of one row',
  cell_too_long: 'has a cell longer than the limit',
  quote_open: 'opens a quote that is not closed within the limit of one cell',
  time_unreadable: 'has no readable time',
  time_implausible: 'has a time before 1990 or more than 48 hours ahead',
  table_changed: 'follows a header with other columns',
} as const;

export type RowReject = keyof typeof ROW_REJECTS;

/** Why a cell of a signal gave no value though it is not blank. `SampleBatch.rejectReason` indexes into this list. */
export const CELL_REJECTS = ['unreadable', 'out_of_range'] as const;

export type CellReject = (typeof CELL_REJECTS)[number];

/** Recorders were not built before; an earlier date is a clock that was never set. */
export const EARLIEST_MS = Date.UTC(1990, 0, 1);
/** A recorder's clock may run ahead or its zone be off; more than this is no time of recording. */
export const AHEAD_MS = 48 * 3_600_000;
