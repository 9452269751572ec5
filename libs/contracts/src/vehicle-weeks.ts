import { z } from 'zod';
import { overlapSchema } from './recording.js';

const stage = z.object({
  stage: z.enum(['watch', 'caution', 'alarm', 'severe']),
  /** Canonical unit of the signal, and as people write it. */
  value: z.number(),
  written: z.string(),
});

/**
 * GET /v1/vehicles/{id}/weeks: temperatures with stages, week by week, oldest first; weeks in the zone of the vehicle's
 * depot. Every list that is named after weeks has one entry for each of `weeks`, in the same order.
 */
export const vehicleWeeksSchema = z.object({
  vehicle: z.string(),
  timeZone: z.string(),
  from: z.string(),
  to: z.string(),
  /** Newest start of a drive, or snapshot, of any age; null = nothing was ever received. */
  newestData: z.string().nullable(),
  weeks: z.array(
    z.object({
      week: z.string(),
      drives: z.number().int(),
      engineHours: z.number(),
      distanceKm: z.number().nullable(),
      snapshots: z.number().int(),
    }),
  ),
  /** Only signals that were recorded while the engine ran. */
  signals: z.array(
    z.object({
      signal: z.string(),
      label: z.string(),
      unit: z.string(),
      stages: z.array(stage),
      weeks: z.array(
        z.object({
          /** Seconds with a value; 0 = nothing is known of that week. */
          seconds: z.number(),
          mean: z.number().nullable(),
          max: z.number().nullable(),
          maxAt: z.string().nullable(),
          maxUpload: z.string().nullable(),
          /** Seconds at or above each of `stages`, in their order. */
          atOrAbove: z.array(z.number()),
        }),
      ),
      /** Seconds in value bins [low, high), week by week. */
      bins: z.array(z.object({ low: z.number(), high: z.number(), seconds: z.array(z.number()) })),
    }),
  ),
});
export type VehicleWeeks = z.infer<typeof vehicleWeeksSchema>;

/** GET /v1/vehicles/{id}/residuals: what the early warning goes by. Kelvins are differences. */
export const vehicleResidualsSchema = z.object({
  vehicle: z.string(),
  vehicleClass: z.string(),
  /** Vehicles of the class that were compared, this one included. */
  compared: z.number().int(),
  week: z.string(),
  /** Drives from here on are the recent ones; the older ones are the vehicle's baseline. */
  recentFrom: z.string(),
  signals: z.array(
    z.object({
      signal: z.string(),
      label: z.string(),
      /** Only `ok` has residuals; none of the others is an all-clear. */
      state: z.enum(['ok', 'bad_sensor', 'few_class_drives', 'no_drives']),
      /** Median of the recent drives above the baseline, and what it must exceed to warn; null with too few drives. */
      excessK: z.number().nullable(),
      thresholdK: z.number().nullable(),
      baselineK: z.number().nullable(),
      warns: z.boolean(),
      drives: z.array(
        z.object({
          upload: z.string(),
          from: z.string(),
          to: z.string(),
          heldC: z.number(),
          explainedC: z.number(),
          residualK: z.number(),
        }),
      ),
    }),
  ),
});
export type VehicleResiduals = z.infer<typeof vehicleResidualsSchema>;

/** GET /v1/vehicles/{id}/quality: what is known badly or not at all. */
export const vehicleQualitySchema = z.object({
  vehicle: z.string(),
  from: z.string(),
  to: z.string(),
  recordings: z.object({
    count: z.number().int(),
    rows: z.number(),
    rowsKept: z.number(),
    gaps: z.number().int(),
    longestGapSeconds: z.number(),
    longestGapUpload: z.string().nullable(),
    backwardSteps: z.number().int(),
    duplicateTimes: z.number().int(),
  }),
  /** Uploads of the vehicle that could not be read, newest first. */
  failed: z.array(
    z.object({
      upload: z.string(),
      fileName: z.string().nullable(),
      receivedAt: z.string(),
      problem: z.string().nullable(),
    }),
  ),
  /** Sensors that were not believed, with the weeks. */
  findings: z.array(z.object({ signal: z.string(), label: z.string(), text: z.string(), weeks: z.array(z.string()) })),
  /** Logs of which time is counted from another log, as both recorded it. */
  overlaps: z.array(overlapSchema),
  /** Temperatures with stages of which nothing was recorded: not known to be cool. */
  notRecorded: z.array(z.object({ signal: z.string(), label: z.string() })),
  /** Only signals with something to say: values left out, long stuck, blank in most rows, or a doubtful channel. */
  signals: z.array(
    z.object({
      signal: z.string(),
      label: z.string(),
      channels: z.array(z.string()),
      /** Least confidence of a mapping, 0..1. */
      confidence: z.number().nullable(),
      valid: z.number(),
      blank: z.number(),
      outOfRange: z.number(),
      unreadable: z.number(),
      jump: z.number(),
      stuckSeconds: z.number(),
    }),
  ),
  /** Signals without any finding. */
  signalsFine: z.number().int(),
});
export type VehicleQuality = z.infer<typeof vehicleQualitySchema>;
