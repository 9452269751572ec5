import { z } from 'zod';
import { hiddenClearSchema, readinessForecastSchema, readinessVerdictSchema } from './readiness.js';

const { programme, verdict, blocking, incomplete, why, readyByDate } = readinessVerdictSchema.shape;

/** GET /v1/fleet/readiness: every vehicle's verdicts, soonest due first. The local programme decides, not this. */
export const fleetReadinessSchema = z.object({
  asOf: z.string(),
  programmes: z.array(z.object({ id: z.string(), label: z.string() })),
  vehicles: z.array(
    z.object({
      vehicle: z.string(),
      vehicleClass: z.string(),
      depot: z.string(),
      route: z.string().optional(),
      inspectionDue: z.string().nullable(),
      /** Whole days from today to the due date, negative when it has passed; null without a due date. */
      dueInDays: z.number().int().nullable(),
      newestSnapshot: z.string().nullable(),
      /** The newest reading is older than what a ranking goes by. */
      stale: z.boolean(),
      verdicts: z.array(z.object({ programme, verdict, blocking, incomplete, why, readyByDate })),
      hiddenClear: hiddenClearSchema.nullable(),
      /** Monitors that are not complete and how likely they are by the date; null when monitors were never read. */
      forecast: readinessForecastSchema.omit({ method: true }).nullable(),
      advice: z.array(z.string()),
    }),
  ),
  /** Codes that came back after they were gone or cleared, most returns first. */
  returning: z.array(
    z.object({
      code: z.string(),
      text: z.string(),
      module: z.string().nullable(),
      returns: z.number().int(),
      where: z.array(
        z.object({
          vehicle: z.string(),
          depot: z.string(),
          returns: z.number().int(),
          active: z.boolean(),
          lastReturn: z.string(),
        }),
      ),
    }),
  ),
  /** How the forecast is made and what it leaves out. */
  forecastMethod: z.string(),
  caution: z.string(),
});
export type FleetReadiness = z.infer<typeof fleetReadinessSchema>;
