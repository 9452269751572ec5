import { z } from 'zod';
import { contextSchema } from './crossings.js';

const extremeSchema = z.object({
  /** In the signal's canonical unit. */
  value: z.number(),
  at: z.string(),
  upload: z.string(),
  /** What was recorded beside it, by signal. */
  context: contextSchema,
});

/** Somebody set the lowest and highest values back: from then on they are of what was recorded later. */
export const extremesResetSchema = z.object({
  at: z.string(),
  by: z.string(),
  reason: z.string(),
  /** Signals that were set back; null = all of them. */
  signals: z.array(z.string()).nullable(),
});
export type ExtremesReset = z.infer<typeof extremesResetSchema>;

/** GET /v1/vehicles/{id}/extremes: lowest and highest of every signal since the last reset, and every reset, newest first. */
export const vehicleExtremesSchema = z.object({
  vehicle: z.string(),
  signals: z.array(
    z.object({
      signal: z.string(),
      label: z.string(),
      unit: z.string(),
      /** null = nothing was recorded since the reset. */
      lowest: extremeSchema.nullable(),
      highest: extremeSchema.nullable(),
      /** The last reset of this signal; null = since the first recording. */
      since: z.string().nullable(),
      resetBy: z.string().optional(),
    }),
  ),
  resets: z.array(extremesResetSchema),
});
export type VehicleExtremes = z.infer<typeof vehicleExtremesSchema>;

/** POST /v1/vehicles/{id}/extremes/resets; without signals, all of them. */
export const newExtremesResetSchema = z.strictObject({
  signals: z.array(z.string().min(1).max(80)).min(1).max(500).optional(),
  by: z.string().trim().min(1).max(80),
  reason: z.string().trim().min(1).max(500),
});
export type NewExtremesReset = z.infer<typeof newExtremesResetSchema>;
