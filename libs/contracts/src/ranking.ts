import { z } from 'zod';

/** One reason for a rank: a sentence with its numbers, and where the evidence is. */
export const reasonSchema = z.object({
  component: z.enum(['heat', 'codes', 'readiness']),
  /** Plain words with the numbers, e.g. `Coolant at or above 110 °C for 14 min in 6.2 engine hours`. */
  text: z.string(),
  /** 0..1, how much this reason contributes to its component. */
  weight: z.number(),
  evidence: z.array(
    z.object({
      kind: z.enum(['drive', 'upload', 'code', 'snapshot']),
      id: z.string(),
      /** The instant in it that the reason speaks of, where it is one. */
      at: z.string().optional(),
    }),
  ),
});
export type Reason = z.infer<typeof reasonSchema>;

/** Missing is not healthy: a component without data has `score: null` and says why in `state`. */
export const componentSchema = z.object({
  score: z.number().min(0).max(1).nullable(),
  /** `excluded`: somebody left it out; `note` says until when and why. */
  state: z.enum(['ok', 'no_data', 'bad_sensor', 'stale', 'excluded']),
  note: z.string().nullable(),
});
export type Component = z.infer<typeof componentSchema>;

export const CONFIDENCE_LEVELS = ['low', 'medium', 'high'] as const;
const level = z.enum(CONFIDENCE_LEVELS);

/**
 * How far a row is to be trusted: the lowest level among its parts. `coverage` share of the components with data,
 * `engine_hours` of the week, `class_size` vehicles of the class with enough hours, `score_width` of the heat score between
 * one standard deviation below and above the shrunk rates.
 */
export const confidenceSchema = z.object({
  level,
  parts: z.array(
    z.object({ name: z.enum(['coverage', 'engine_hours', 'class_size', 'score_width']), value: z.number(), level }),
  ),
  why: z.string(),
});
export type Confidence = z.infer<typeof confidenceSchema>;

export const rankedVehicleSchema = z.object({
  rank: z.number().int().positive(),
  vehicle: z.string(),
  vehicleClass: z.string(),
  depot: z.string(),
  /** Its usual round at the time; absent = none was registered, or the ranking is older than routes. */
  route: z.string().optional(),
  score: z.number().min(0).max(1),
  heat: componentSchema,
  codes: componentSchema,
  readiness: componentSchema,
  /** Share of the three components that had data, 0..1, and the hours behind them. */
  coverage: z.object({
    share: z.number(),
    engineHours: z.number(),
    distanceKm: z.number().nullable(),
    drives: z.number().int(),
    snapshots: z.number().int(),
  }),
  /** Absent in rankings that were made before it was kept. */
  confidence: confidenceSchema.optional(),
  /** Against the previous week's ranking; null when it was not ranked then. */
  change: z.object({ rank: z.number().int().nullable(), score: z.number().nullable() }),
  reasons: z.array(reasonSchema),
  inputs: z.record(z.string(), z.unknown()),
});
export type RankedVehicle = z.infer<typeof rankedVehicleSchema>;

export const unrankedVehicleSchema = z.object({
  vehicle: z.string(),
  vehicleClass: z.string(),
  depot: z.string(),
  route: z.string().optional(),
  /** Closed list of causes, each with a sentence. */
  causes: z.array(
    z.object({
      code: z.enum([
        'no_upload',
        'no_engine_hours',
        'few_engine_hours',
        'no_temperature',
        'bad_sensor',
        'no_snapshot',
        'stale_snapshot',
        'excluded',
      ]),
      text: z.string(),
    }),
  ),
});
export type UnrankedVehicle = z.infer<typeof unrankedVehicleSchema>;

export const rankingSchema = z.object({
  week: z.string(),
  timeZone: z.string(),
  from: z.string(),
  to: z.string(),
  revision: z.number().int().positive(),
  /** True when the week was not over at the time of ranking. */
  provisional: z.boolean(),
  ruleVersion: z.string(),
  ranked: z.array(rankedVehicleSchema),
  unranked: z.array(unrankedVehicleSchema),
  /** What changed against the previous revision of the same week, in words. */
  changes: z.array(z.string()),
  caution: z.string(),
});
export type Ranking = z.infer<typeof rankingSchema>;

/** GET /v1/rankings: every published revision, newest week first, within a week newest revision first. */
export const rankingListSchema = z.object({
  rankings: z.array(z.object({ week: z.string(), revision: z.number().int().positive() })),
});
export type RankingList = z.infer<typeof rankingListSchema>;
