import { z } from 'zod';

const weekName = z.string().regex(/^\d{4}-W\d{2}$/);

/**
 * A vehicle, or one component of it, that a manager leaves out of the ranking for a while. In force for a week when the
 * week's last day, by the clock of the vehicle's depot, lies within [from, until]. It stays visible with its reason.
 */
export const exclusionSchema = z
  .object({
    vehicle: z.string().min(1).max(80),
    /** Null = the whole vehicle. */
    component: z.enum(['heat', 'codes', 'readiness']).nullable(),
    reason: z.string().trim().min(1).max(400),
    from: z.iso.date(),
    /** Last day, inclusive. */
    until: z.iso.date(),
  })
  .strict()
  .refine(({ from, until }) => from <= until, {
    message: 'the last day must not be before the first',
    path: ['until'],
  });
export type Exclusion = z.infer<typeof exclusionSchema>;

/**
 * Body of POST /v1/rankings/preview: what to try, each in the shape of its setting (`ranking-weights`, `heat-stages`,
 * `ranking-exclusions`); what is left out stays as it is in force. Nothing is saved.
 */
export const rankingPreviewRequestSchema = z
  .object({
    weights: z.record(z.string(), z.unknown()).optional(),
    stages: z.array(z.unknown()).max(2000).optional(),
    exclusions: z.array(z.unknown()).max(2000).optional(),
    weeks: z.number().int().min(1).max(8).default(4).describe('newest complete weeks with data'),
  })
  .strict();
export type RankingPreviewRequest = z.infer<typeof rankingPreviewRequestSchema>;

const place = z.object({
  /** Null = not ranked. */
  rank: z.number().int().nullable(),
  score: z.number().nullable(),
  /** Why it has no rank. */
  cause: z.string().nullable(),
});
export type PreviewPlace = z.infer<typeof place>;

export const previewVehicleSchema = z.object({
  vehicle: z.string(),
  vehicleClass: z.string(),
  before: place,
  after: place,
  /** Ranks gained; null unless ranked both ways. */
  rankChange: z.number().int().nullable(),
});
export type PreviewVehicle = z.infer<typeof previewVehicleSchema>;

/** Newest week first. `before` is made from the same data with the rules in force, so only the rules differ. */
export const rankingPreviewSchema = z.object({
  /** Of the rules in force, that `before` is made with. */
  ruleVersion: z.string(),
  weeks: z.array(
    z.object({
      week: weekName,
      /** Vehicles that would stand differently, in their new order; those without a rank last. */
      vehicles: z.array(previewVehicleSchema),
      /** Vehicles that would stand as before. */
      unchanged: z.number().int(),
    }),
  ),
});
export type RankingPreview = z.infer<typeof rankingPreviewSchema>;
