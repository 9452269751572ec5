import { z } from 'zod';
import { inspectionSourceSchema } from './shop.js';

/** Where an inspection or a visit stands; our own words, the trade has no standard ones. */
export const workStateSchema = z.enum(['proposed', 'booked', 'in_the_bay', 'done', 'declined']);
export type WorkState = z.infer<typeof workStateSchema>;

/** Why an inspection is proposed, and where the evidence is. */
export const inspectionReasonSchema = z.object({
  source: inspectionSourceSchema,
  text: z.string(),
  /** 0..1 */
  weight: z.number(),
  evidence: z.array(z.object({ kind: z.string(), id: z.string() })),
});
export type InspectionReason = z.infer<typeof inspectionReasonSchema>;

/** One inspection that a vehicle should have. */
export const inspectionSchema = z.object({
  id: z.string(),
  vehicle: z.string(),
  kind: z.string(),
  label: z.string(),
  state: workStateSchema,
  why: z.array(inspectionReasonSchema),
  minutes: z.number().int().positive(),
  skills: z.array(z.string()),
  features: z.array(z.string()),
  /** First and last day it should be done; null = no last day. */
  earliest: z.iso.date(),
  latest: z.iso.date().nullable(),
  /** Expected cost of one day of waiting, and of one day past `latest` on top. */
  costPerDay: z.number(),
  latePerDay: z.number(),
  /** The visit that holds it. */
  visit: z.string().nullable(),
  /** Why it was declined, or what was found. */
  note: z.string().nullable(),
  version: z.number().int(),
  updatedAt: z.string(),
});
export type Inspection = z.infer<typeof inspectionSchema>;

/** A vehicle's stay in a bay, for one inspection or several. Times are of the depot's clock. */
export const visitSchema = z.object({
  id: z.string(),
  vehicle: z.string(),
  vehicleClass: z.string(),
  depot: z.string(),
  bay: z.string(),
  /** Who works the bay that day; null = nobody yet. */
  person: z.string().nullable(),
  day: z.iso.date(),
  from: z.string(),
  /** Last day, for work longer than one opening day. */
  lastDay: z.iso.date(),
  to: z.string(),
  timeZone: z.string(),
  minutes: z.number().int().positive(),
  state: workStateSchema,
  pinned: z.boolean(),
  inspections: z.array(z.object({ id: z.string(), kind: z.string(), label: z.string(), why: z.array(z.string()) })),
  note: z.string().nullable(),
  findings: z.string().nullable(),
  parts: z.array(z.object({ name: z.string(), count: z.number() })),
  version: z.number().int(),
  updatedAt: z.string(),
  updatedBy: z.string().nullable(),
});
export type Visit = z.infer<typeof visitSchema>;

export const placeLimitSchema = z.enum([
  'closed',
  'holiday',
  'bay_closed',
  'bay_lacks',
  'nobody_has_skill',
  'nobody_free',
  'bay_full',
  'spares_used',
  'in_service',
  'no_travel',
  'too_early',
  'past',
  'already_in_shop',
  'too_long',
  'late',
]);
export type PlaceLimit = z.infer<typeof placeLimitSchema>;

/** Which limit keeps an inspection from its date, in how many of the places that were looked at. */
export const planObstacleSchema = z.object({
  limit: placeLimitSchema,
  places: z.number().int(),
  text: z.string(),
});
export type PlanObstacle = z.infer<typeof planObstacleSchema>;

export const planReportSchema = z.object({
  at: z.string(),
  from: z.iso.date(),
  to: z.iso.date(),
  /** Expected cost of waiting, lateness, travel and moves of this plan. */
  cost: z.number(),
  /** No plan can cost less. */
  bound: z.number(),
  /** (cost - bound) / cost */
  gap: z.number(),
  seconds: z.number(),
  optimal: z.boolean(),
  planned: z.number().int(),
  moved: z.array(
    z.object({ visit: z.string(), vehicle: z.string(), from: z.string(), to: z.string(), why: z.string() }),
  ),
  /** Planned after their latest date. */
  late: z.array(
    z.object({
      vehicle: z.string(),
      inspections: z.array(z.string()),
      days: z.number(),
      why: z.array(planObstacleSchema),
    }),
  ),
  /** Pinned visits that a limit stands against; they stay, and somebody must look. */
  conflicts: z.array(z.object({ visit: z.string(), vehicle: z.string(), text: z.string() })),
  /** Not planned within the horizon: they wait, with the limits that keep them out. */
  waiting: z.array(
    z.object({ vehicle: z.string(), inspections: z.array(z.string()), why: z.array(planObstacleSchema) }),
  ),
});
export type PlanReport = z.infer<typeof planReportSchema>;

/** What one place would do to the plan: an empty list of limits means that the visit can go there. */
export const placeCheckSchema = z.object({
  bay: z.string(),
  day: z.iso.date(),
  fits: z.boolean(),
  limits: z.array(z.object({ limit: placeLimitSchema, text: z.string() })),
  /** What only costs, such as a date past the latest. */
  warnings: z.array(z.string()),
});
export type PlaceCheck = z.infer<typeof placeCheckSchema>;
