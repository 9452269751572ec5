import { z } from 'zod';

const side = z.object({
  rank: z.number().int().nullable(),
  score: z.number().nullable(),
  /** Minutes at or above each stage, over all signals of heat; a stage that is not reached is left out. */
  minutes: z.partialRecord(z.enum(['watch', 'caution', 'alarm', 'severe']), z.number()),
});

/** Body of POST /v1/limits/trial: limits as in the setting `heat-stages`, tried on one past week; nothing is saved. */
export const limitsTrialRequestSchema = z
  .object({
    stages: z.array(z.unknown()).max(2000),
    week: z
      .string()
      .regex(/^\d{4}-W\d{2}$/, 'expected an ISO week such as 2026-W41')
      .describe('a past ISO week'),
  })
  .strict();
export type LimitsTrialRequest = z.infer<typeof limitsTrialRequestSchema>;

/** What the limits would have made of that week, beside what those in force make of the same data. */
export const limitsTrialSchema = z.object({
  week: z.string(),
  vehicles: z.array(z.object({ vehicle: z.string(), vehicleClass: z.string(), before: side, after: side })),
});
export type LimitsTrial = z.infer<typeof limitsTrialSchema>;
