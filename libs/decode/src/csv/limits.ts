/** Limits of what is accepted as a table. Each is named in the message of the problem it causes. */
export const CSV_LIMITS = {
  /** Columns of one table; recorders write at most a few hundred. */
  maxColumns: 4096,
  /** Bytes of one cell. */
  maxCellBytes: 64 * 1024,
  /** Bytes of one row; a longer line is no row and is skipped to its end. */
  maxRowBytes: 1024 * 1024,
  /** Bytes of the head that detection looks at; more is not needed and not used. */
  maxHeadBytes: 1024 * 1024,
  /** Lines before the header that are kept. */
  maxPreambleLines: 200,
  /** Data rows of the head that detection looks at. */
  maxSampleRows: 160,
  /** Share of control characters above which bytes are not text. */
  maxControlShare: 0.01,
} as const;
