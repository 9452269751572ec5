import { z } from 'zod';
import { monitorIdSchema } from './snapshot.js';

export const verdictNameSchema = z.enum([
  'would_pass',
  'would_be_refused',
  'would_fail',
  'not_enough_data',
  'not_subject',
]);
export type VerdictNameReport = z.infer<typeof verdictNameSchema>;

/** Codes were cleared and monitors have not completed since: at an inspection that hides what the codes were. */
export const hiddenClearSchema = z.object({
  text: z.string(),
  /** Snapshot that shows it. */
  upload: z.string(),
  at: z.string(),
  /** The clear happened after this instant; null when only the counters of one snapshot tell of it. */
  since: z.string().nullable(),
  /** Codes that it took away, as far as snapshots before it show them. */
  codes: z.array(z.string()),
});
export type HiddenClearReport = z.infer<typeof hiddenClearSchema>;

/** How likely one incomplete monitor completes by a date. */
export const monitorForecastSchema = z.object({
  monitor: monitorIdSchema,
  label: z.string(),
  /** `too_little_history`: nobody knows; that is not `unlikely`. */
  outlook: z.enum(['likely', 'uncertain', 'unlikely', 'too_little_history']),
  /** Chance that it is complete by the date, with the middle 90 % of what the history leaves open. */
  chance: z.number().nullable(),
  low: z.number().nullable(),
  high: z.number().nullable(),
  /** When it becomes likely at usual use; null = not within what the history shows. */
  likelyOn: z.string().nullable(),
  /** Open for longer than it was in nearly all others of the class. */
  overdue: z.boolean(),
  /** Clears of this vehicle, and of others of its class, after which the monitor was open for as long as it is now. */
  ownClears: z.number().int(),
  classClears: z.number().int(),
  /** General kind of driving in which it runs. Common practice, the maker's procedure decides. */
  driving: z.string(),
});
export type MonitorForecastReport = z.infer<typeof monitorForecastSchema>;

export const readinessForecastSchema = z.object({
  /** Inspection date the forecast is for, and days until then; the next 14 days when no date is registered. */
  date: z.string(),
  days: z.number().int(),
  dateFrom: z.enum(['inspection_due', 'next_two_weeks']),
  /** What the history is counted in, how much of it has gone by since the last clear and is usual until the date. */
  scale: z.enum(['warm_ups', 'kilometres', 'days']),
  soFar: z.number().nullable(),
  usualUntilThen: z.number().nullable(),
  usualPerDay: z.number().nullable(),
  /** Only monitors that are not complete now. */
  monitors: z.array(monitorForecastSchema),
  method: z.string(),
});
export type ReadinessForecastReport = z.infer<typeof readinessForecastSchema>;

export const readinessVerdictSchema = z.object({
  programme: z.string(),
  label: z.string(),
  verdict: verdictNameSchema,
  blocking: z.array(monitorIdSchema),
  incomplete: z.array(monitorIdSchema),
  why: z.array(z.string()),
  snapshot: z.object({ upload: z.string(), at: z.string() }).nullable(),
  /** Chance that the monitors are within this rule by the forecast's date; null where the forecast cannot say. */
  readyByDate: z.object({ chance: z.number(), low: z.number(), high: z.number() }).nullable(),
});

/** GET /v1/vehicles/{id}/readiness: one verdict a programme. The local programme decides, not this. */
export const vehicleReadinessSchema = z.object({
  vehicle: z.string(),
  inspectionDue: z.string().nullable(),
  dueInDays: z.number().int().nullable(),
  newestSnapshot: z.string().nullable(),
  /** The newest reading of the monitors is older than what a ranking goes by. */
  stale: z.boolean(),
  monitors: z.array(
    z.object({ monitor: monitorIdSchema, label: z.string(), supported: z.boolean(), complete: z.boolean() }),
  ),
  verdicts: z.array(readinessVerdictSchema),
  hiddenClear: hiddenClearSchema.nullable(),
  /** Null when no snapshot read monitors. */
  forecast: readinessForecastSchema.nullable(),
  /** What to do next: drive as usual, re-check, repair. Never a way around the test. */
  advice: z.array(z.string()),
  caution: z.string(),
});
export type VehicleReadiness = z.infer<typeof vehicleReadinessSchema>;
