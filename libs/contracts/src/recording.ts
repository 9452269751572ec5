import { z } from 'zod';
import { problemSchema } from './problem.js';
import { decisionSchema, uploadCountsSchema } from './upload.js';

/** What a person wrote about a vehicle, or at one instant of a recording; taken away ones are kept, not shown. */
export const noteSchema = z.object({
  id: z.string(),
  vehicle: z.string(),
  /** The recording and the instant in it; null = about the vehicle. */
  upload: z.string().nullable(),
  at: z.string().nullable(),
  text: z.string(),
  by: z.string(),
  writtenAt: z.string(),
});
export type Note = z.infer<typeof noteSchema>;
export const noteListSchema = z.object({ notes: z.array(noteSchema) });
export type NoteList = z.infer<typeof noteListSchema>;

/** POST /v1/vehicles/{id}/notes */
export const newNoteSchema = z.strictObject({
  text: z.string().trim().min(1).max(500),
  by: z.string().trim().min(1).max(80),
});
export type NewNote = z.infer<typeof newNoteSchema>;

/** POST /v1/recordings/{upload}/markers; `at` lies within the recording. */
export const newMarkerSchema = newNoteSchema.extend({ at: z.iso.datetime({ offset: true }) });
export type NewMarker = z.infer<typeof newMarkerSchema>;

const signalFiguresSchema = z.object({
  signal: z.string(),
  label: z.string(),
  /** Canonical unit, in which values are sent. */
  unit: z.string(),
  channel: z.string(),
  sourceUnit: z.string().nullable(),
  valid: z.number().int(),
  blank: z.number().int(),
  /** Values left out: outside the plausible range, unreadable, jumping faster than physics allows. */
  leftOut: z.number().int(),
  stuckSeconds: z.number(),
  min: z.number().nullable(),
  minAt: z.string().nullable(),
  max: z.number().nullable(),
  maxAt: z.string().nullable(),
  /**
   * A channel that the catalogue does not know (`signal` is its `asideId`): `unit` as the header states it or empty, no range is
   * known, `valid`, `blank` and `leftOut` (no number) count cells that differ from the row before. Absent = a signal.
   */
  aside: z.literal(true).optional(),
});

/** One continuous exceedance of a stage while the engine ran. */
export const episodeSchema = z.object({
  upload: z.string(),
  drive: z.string(),
  signal: z.string(),
  label: z.string(),
  stage: z.enum(['watch', 'caution', 'alarm', 'severe']),
  written: z.string(),
  from: z.string(),
  to: z.string(),
  /** Seconds at or above the stage by the hold rule. */
  seconds: z.number(),
  degreeMinutes: z.number(),
  worst: z.number(),
  worstAt: z.string(),
  /** Beside the worst value: by signal, and `grade_pct`, `load_2min_pct` (minutes before), `load_excess_pct` (of the drive). */
  context: z.record(z.string(), z.number().nullable()),
});
export type EpisodeReport = z.infer<typeof episodeSchema>;

/** Another log of the same vehicle that recorded some of the same time: that counts once. */
export const overlapSchema = z.object({
  upload: z.string(),
  other: z.string(),
  from: z.string(),
  to: z.string(),
  /** Seconds that both recorded with the engine running. */
  seconds: z.number(),
  /** `upload`: counted here; `other`: counted there, apart from signals that only this one has. */
  countedFrom: z.enum(['upload', 'other']),
  text: z.string(),
});
export type OverlapReport = z.infer<typeof overlapSchema>;

/** One upload of a log, without its inside. */
export const recordingGlanceSchema = z.object({
  upload: z.string(),
  fileName: z.string().nullable(),
  recorder: z.string().nullable(),
  from: z.string().nullable(),
  to: z.string().nullable(),
  receivedAt: z.string(),
  state: z.string(),
  counts: uploadCountsSchema.nullable(),
  drives: z.number().int(),
  gaps: z.number().int(),
  longestGapSeconds: z.number(),
  backwardSteps: z.number().int(),
  signals: z.array(z.string()),
  unmapped: z.number().int(),
  problem: problemSchema.nullable(),
});

/** GET /v1/vehicles/{id}/recordings, newest first. */
export const recordingListSchema = z.object({ vehicle: z.string(), recordings: z.array(recordingGlanceSchema) });
export type RecordingList = z.infer<typeof recordingListSchema>;

/** GET /v1/recordings/{upload} */
export const recordingSchema = recordingGlanceSchema.omit({ signals: true, drives: true, unmapped: true }).extend({
  vehicle: z.string(),
  timeZone: z.string(),
  decisions: z.array(decisionSchema),
  signals: z.array(signalFiguresSchema),
  /** Channels kept aside that hold words: they cannot be plotted. `cells` that differ from the row before, and one of them. */
  texts: z.array(z.object({ channel: z.string(), cells: z.number().int(), example: z.string().nullable() })),
  /** Signals that stay interesting when nobody has chosen any: temperatures with stages first. */
  suggested: z.array(z.string()),
  drives: z.array(z.object({ id: z.string(), from: z.string(), to: z.string(), distanceKm: z.number().nullable() })),
  episodes: z.array(episodeSchema),
  overlaps: z.array(overlapSchema),
  markers: z.array(
    z.object({
      /** Null = written by the recorder, cannot be taken away. */
      id: z.string().nullable(),
      at: z.string(),
      text: z.string(),
      by: z.string().nullable(),
      writtenAt: z.string().nullable(),
    }),
  ),
  stages: z.array(z.object({ signal: z.string(), stage: z.string(), value: z.number(), written: z.string() })),
});
export type Recording = z.infer<typeof recordingSchema>;
export type SignalFigures = Recording['signals'][number];

const figures = z.array(z.number().nullable());

/**
 * GET /v1/recordings/{upload}/trace: what a screen of `points` columns can show, column by column of equal numbers.
 * `at` and `until`: instants of a column's first and last row, in ms after `from`. Columns without rows are left out.
 * `full`: every row is a column of its own, and a signal has `values`. Otherwise first, lowest, highest and last value of
 * each column: no peak is lost. null = the signal has no value there. Figures carry seven digits, as the lake's do.
 */
export const traceSchema = z.object({
  upload: z.string(),
  from: z.string(),
  to: z.string(),
  full: z.boolean(),
  stepMs: z.number(),
  /** A value holds no longer than this: a longer step is a gap. */
  holdMs: z.number(),
  at: z.array(z.number()),
  until: z.array(z.number()),
  signals: z.array(
    z.object({
      signal: z.string(),
      values: figures.optional(),
      first: figures.optional(),
      min: figures.optional(),
      max: figures.optional(),
      last: figures.optional(),
    }),
  ),
});
export type Trace = z.infer<typeof traceSchema>;

/** GET /v1/vehicles/{id}/evidence: what stands behind "what is wrong, since when, how sure". */
export const vehicleEvidenceSchema = z.object({
  vehicle: z.string(),
  timeZone: z.string(),
  from: z.string(),
  to: z.string(),
  /** Worst first; at most 100, of the highest stage that each reached. */
  episodes: z.array(episodeSchema),
  episodesFound: z.number().int(),
  /** Seconds in bins of a signal, engine running, canonical unit. */
  dwell: z.array(
    z.object({
      signal: z.string(),
      label: z.string(),
      unit: z.string(),
      bins: z.array(z.object({ low: z.number(), high: z.number(), seconds: z.number() })),
      stages: z.array(z.object({ stage: z.string(), value: z.number(), written: z.string() })),
    }),
  ),
  /** Lowest and highest of each signal over everything that is stored, with when and in which recording. */
  extremes: z.array(
    z.object({
      signal: z.string(),
      label: z.string(),
      unit: z.string(),
      min: z.object({ value: z.number(), at: z.string(), upload: z.string() }),
      max: z.object({ value: z.number(), at: z.string(), upload: z.string() }),
    }),
  ),
  /** Published rankings of these weeks, oldest first; null score = not ranked that week. */
  standing: z.array(
    z.object({
      week: z.string(),
      rank: z.number().int().nullable(),
      of: z.number().int(),
      score: z.number().nullable(),
      reasons: z.array(z.string()),
      coverage: z.number().nullable(),
      /** Early warnings: warmer than its drives explain [K]. */
      warnings: z.array(
        z.object({ signal: z.string(), excessK: z.number(), thresholdK: z.number(), recentDrives: z.number() }),
      ),
    }),
  ),
});
export type VehicleEvidence = z.infer<typeof vehicleEvidenceSchema>;
