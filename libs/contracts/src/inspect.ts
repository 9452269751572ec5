import { z } from 'zod';

export const inspectedSignalSchema = z.object({
  header: z.string(),
  sourceUnit: z.string().nullable(),
  confidence: z.number(),
  valid: z.number().int(),
  blank: z.number().int(),
  min: z.number().nullable(),
  max: z.number().nullable(),
  /** Seconds at or above each asked stage, keyed by the stage as asked; null when the signal has no valid value. */
  secondsAtOrAbove: z.record(z.string(), z.number().nullable()).optional(),
  rejected: z.record(z.string(), z.number().int()).optional(),
});

/** Output of `tallybay inspect FILE --json`; values in canonical units. Stable. */
export const inspectionReportSchema = z.object({
  file: z.string(),
  format: z.string(),
  rows: z.number().int(),
  rowsRejectedBy: z.record(z.string(), z.number().int()),
  time: z.object({
    first: z.string().nullable(),
    last: z.string().nullable(),
    zone: z.string().nullable(),
    gaps: z.number().int(),
    longestGapSeconds: z.number(),
    backwardSteps: z.number().int(),
    duplicateTimes: z.number().int(),
    countedSeconds: z.number(),
  }),
  signals: z.record(z.string(), inspectedSignalSchema),
  /** Signals asked for with --stage that the log does not carry: `no data`, never 0. */
  noData: z.array(z.string()),
  unmapped: z.array(z.string()),
  decisions: z.array(z.object({ what: z.string(), value: z.string(), why: z.string() })),
  problems: z.array(
    z.object({ code: z.string(), text: z.string(), count: z.number().int(), firstRow: z.number().int().nullable() }),
  ),
  /** Only of a CAN capture: lamps, faults, answers and counts by sender, as libs/decode's CaptureReport has them. */
  capture: z.unknown().optional(),
});
export type InspectionReport = z.infer<typeof inspectionReportSchema>;
