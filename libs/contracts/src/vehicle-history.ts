import { z } from 'zod';

/** One drive: engine on to engine off. Times are RFC 3339, UTC. */
export const driveSchema = z.object({
  id: z.string(),
  upload: z.string(),
  from: z.string(),
  to: z.string(),
  /** Engine-on seconds by the hold rule. */
  seconds: z.number(),
  distanceKm: z.number().nullable(),
  distanceSource: z.string().nullable(),
  fuelL: z.number().nullable(),
  rows: z.number().int(),
});

/** GET /v1/vehicles/{id}/drives, newest first. */
export const driveListSchema = z.object({ vehicle: z.string(), drives: z.array(driveSchema) });
export type DriveList = z.infer<typeof driveListSchema>;

const stageExposureSchema = z.object({
  stage: z.string(),
  valueC: z.number(),
  /** The stage as people write it. */
  written: z.string(),
  /** Seconds at or above the stage, and the integral of the degrees above it. */
  seconds: z.number(),
  degreeMinutes: z.number(),
  /** Per hour and per 100 km of the drives that carried the signal; null without hours, or without a known distance. */
  minutesPerEngineHour: z.number().nullable(),
  minutesPer100Km: z.number().nullable(),
  degreeMinutesPerEngineHour: z.number().nullable(),
  degreeMinutesPer100Km: z.number().nullable(),
  /** False when a value bin straddles the stage and was shared out. */
  exact: z.boolean(),
});

const signalHeatSchema = z.object({
  signal: z.string(),
  label: z.string(),
  /** Missing or not to be believed is not healthy: only `ok` has stages. */
  state: z.enum(['ok', 'no_data', 'bad_sensor']),
  finding: z.string().nullable(),
  engineHours: z.number(),
  maxC: z.number().nullable(),
  stages: z.array(stageExposureSchema),
});

/** GET /v1/vehicles/{id}/heat, oldest week first; weeks in the depot's zone. */
export const vehicleHeatSchema = z.object({
  vehicle: z.string(),
  timeZone: z.string(),
  weeks: z.array(
    z.object({
      week: z.string(),
      engineHours: z.number(),
      distanceKm: z.number().nullable(),
      drives: z.number().int(),
      signals: z.array(signalHeatSchema),
    }),
  ),
});
export type VehicleHeatReport = z.infer<typeof vehicleHeatSchema>;

/** GET and PUT /v1/settings/{name}; version 0 is the built-in default that nobody has edited. */
export const settingSchema = z.object({
  name: z.string(),
  document: z.unknown(),
  version: z.number().int().nonnegative(),
  updatedAt: z.string().nullable(),
  updatedBy: z.string().nullable(),
});
export type SettingDocument = z.infer<typeof settingSchema>;
