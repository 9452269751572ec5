import { z } from 'zod';
import { monitorIdSchema } from './snapshot.js';

const verdict = z.enum(['would_pass', 'would_be_refused', 'would_fail', 'not_enough_data', 'not_subject']);

/** GET /v1/fleet/readiness: every vehicle's verdicts, soonest due first. The local programme decides, not this. */
export const fleetReadinessSchema = z.object({
  asOf: z.string(),
  programmes: z.array(z.object({ id: z.string(), label: z.string() })),
  vehicles: z.array(
    z.object({
      vehicle: z.string(),
      vehicleClass: z.string(),
      depot: z.string(),
      inspectionDue: z.string().nullable(),
      /** Whole days from today to the due date, negative when it has passed; null without a due date. */
      dueInDays: z.number().int().nullable(),
      newestSnapshot: z.string().nullable(),
      verdicts: z.array(
        z.object({ programme: z.string(), verdict, blocking: z.array(monitorIdSchema), why: z.array(z.string()) }),
      ),
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
  caution: z.string(),
});
export type FleetReadiness = z.infer<typeof fleetReadinessSchema>;
