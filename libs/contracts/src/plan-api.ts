import { z } from 'zod';
import { inspectionSchema, planReportSchema, visitSchema } from './inspection.js';

/** GET /v1/plan: the board as it stands. */
export const shopPlanSchema = z.object({
  /** Counts every change by anybody. */
  version: z.number().int(),
  from: z.iso.date(),
  to: z.iso.date(),
  bays: z.array(
    z.object({
      id: z.string(),
      name: z.string(),
      depot: z.string(),
      features: z.array(z.string()),
      /** By day: opening hours, or why it is closed. */
      days: z.array(
        z.object({
          day: z.iso.date(),
          from: z.string().nullable(),
          to: z.string().nullable(),
          closed: z.string().nullable(),
          usedMinutes: z.number().int(),
        }),
      ),
    }),
  ),
  visits: z.array(visitSchema),
  /** Inspections without a visit. */
  waiting: z.array(inspectionSchema),
  report: planReportSchema.nullable(),
});
export type ShopPlanView = z.infer<typeof shopPlanSchema>;

export const planRunSchema = z.object({
  state: z.enum(['idle', 'running', 'done', 'failed']),
  startedAt: z.string().nullable(),
  seconds: z.number(),
  /** Best cost and bound so far; null = none yet. */
  cost: z.number().nullable(),
  bound: z.number().nullable(),
  report: planReportSchema.nullable(),
  problem: z.object({ code: z.string(), detail: z.string(), advice: z.string().nullable() }).nullable(),
});
export type PlanRun = z.infer<typeof planRunSchema>;

/** POST /v1/plan */
export const planRequestSchema = z.object({ seconds: z.number().min(1).max(600).default(20) }).strict();
export const moveRequestSchema = z.object({ bay: z.string().min(1).max(60), day: z.iso.date() }).strict();
export const pinRequestSchema = z.object({ pinned: z.boolean() }).strict();
export const doneRequestSchema = z
  .object({
    findings: z.string().max(4000).default(''),
    parts: z
      .array(z.object({ name: z.string().min(1).max(120), count: z.number().positive().max(10_000) }))
      .max(100)
      .default([]),
    note: z.string().max(4000).optional(),
  })
  .strict();
export const declineRequestSchema = z.object({ reason: z.string().trim().min(1).max(1000) }).strict();
