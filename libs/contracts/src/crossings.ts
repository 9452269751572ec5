import { z } from 'zod';

export const limitStageSchema = z.enum(['watch', 'caution', 'alarm', 'severe']);
export const limitDirectionSchema = z.enum(['low', 'high']);

/** What was recorded beside a value, by signal id; beside signals also `grade_pct` and `load_2min_pct`. null = not recorded. */
export const contextSchema = z.record(z.string(), z.number().nullable());
export type ValueContext = z.infer<typeof contextSchema>;

/** One row of the setting `signal-limits`: a limit on any signal, for a class or for one vehicle. */
export const signalLimitSchema = z.strictObject({
  /** Signal of the catalogue. */
  signal: z.string().min(1).max(80),
  /** `*` = every class without rows of its own for this signal and direction. */
  vehicleClass: z.string().min(1).max(40),
  /** Only this vehicle, in place of what holds for its class; absent = the class. */
  vehicle: z.string().min(1).max(80).optional(),
  /** `high`: at or above the limit; `low`: at or below. */
  direction: limitDirectionSchema,
  stage: limitStageSchema,
  /** In the signal's canonical unit. */
  value: z.number(),
  /** As a person wrote it, with its unit. */
  written: z.string().min(1).max(40),
  /** The value must come back past the limit by this much before a crossing ends [canonical unit]. */
  hysteresis: z.number().min(0).max(1e6),
  /** Crossings with fewer seconds beyond the limit are dropped. */
  minSeconds: z.number().min(0).max(86_400),
  /** `running`: only while the engine runs; `always`: whenever the recorder does. */
  during: z.enum(['running', 'always']),
  source: z.string().min(1).max(400),
});
export type SignalLimit = z.infer<typeof signalLimitSchema>;

/** One stretch beyond a limit, from beyond it to back past its hysteresis. Values in the signal's canonical unit. */
export const crossingSchema = z.object({
  /** The same whenever the same log is decoded again under the same limit. */
  id: z.string(),
  signal: z.string(),
  label: z.string(),
  unit: z.string(),
  stage: limitStageSchema,
  direction: limitDirectionSchema,
  limit: z.number(),
  written: z.string(),
  start: z.string(),
  end: z.string(),
  /** Seconds beyond the limit by the hold rule. */
  seconds: z.number(),
  worst: z.number(),
  worstAt: z.string(),
  upload: z.string(),
  context: contextSchema,
});
export type Crossing = z.infer<typeof crossingSchema>;

/** GET /v1/vehicles/{id}/crossings?from&to, newest first. */
export const vehicleCrossingsSchema = z.object({ vehicle: z.string(), crossings: z.array(crossingSchema) });
export type VehicleCrossings = z.infer<typeof vehicleCrossingsSchema>;

/** GET /v1/crossings?from&to: of the whole fleet, newest first. */
export const fleetCrossingsSchema = z.object({
  crossings: z.array(crossingSchema.extend({ vehicle: z.string() })),
  /** There were more than were asked for. */
  more: z.boolean(),
});
export type FleetCrossings = z.infer<typeof fleetCrossingsSchema>;

/** Body of POST /v1/limits/crossings-trial: rows as in the setting `signal-limits`, tried on one past week; nothing is saved. */
export const crossingsTrialRequestSchema = z.strictObject({
  limits: z.array(z.unknown()).max(2000),
  week: z
    .string()
    .regex(/^\d{4}-W\d{2}$/, 'expected an ISO week such as 2026-W41')
    .describe('a past ISO week'),
});
export type CrossingsTrialRequest = z.infer<typeof crossingsTrialRequestSchema>;

const trialSide = z.object({ crossings: z.number().int(), seconds: z.number() });

/** What the limits would have found in that week's logs, beside what those in force find in the same. */
export const crossingsTrialSchema = z.object({
  week: z.string(),
  vehicles: z.array(
    z.object({
      vehicle: z.string(),
      vehicleClass: z.string(),
      signals: z.array(
        z.object({
          signal: z.string(),
          label: z.string(),
          direction: limitDirectionSchema,
          stage: limitStageSchema,
          before: trialSide,
          after: trialSide,
        }),
      ),
    }),
  ),
});
export type CrossingsTrial = z.infer<typeof crossingsTrialSchema>;
