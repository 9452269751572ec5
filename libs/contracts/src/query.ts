import { z } from 'zod';

/** What an answer can be, and the media type that asks for it. */
export const QUERY_FORMATS = {
  json: 'application/json',
  csv: 'text/csv',
  arrow: 'application/vnd.apache.arrow.stream',
  parquet: 'application/vnd.apache.parquet',
} as const;
export const queryFormatSchema = z.enum(['json', 'csv', 'arrow', 'parquet']);
export type QueryFormat = z.infer<typeof queryFormatSchema>;

const scalar = z.union([z.string().max(10_000), z.number(), z.boolean(), z.null()]);
/** By name for `$name`, or in order for `?`. */
export const queryParametersSchema = z.union([
  z.record(z.string().regex(/^[A-Za-z_]\w{0,60}$|^\d{1,2}$/, 'expected a name such as week'), scalar),
  z.array(scalar).max(64),
]);
export type QueryParameters = z.infer<typeof queryParametersSchema>;

/** Body of POST /v1/query. */
export const queryRequestSchema = z
  .object({
    sql: z.string().min(1).max(20_000),
    parameters: queryParametersSchema.optional(),
    /** Instead of `Accept`. */
    format: queryFormatSchema.optional(),
    /** Rows of a JSON answer as arrays (default) or as objects by column name. */
    shape: z.enum(['arrays', 'objects']).optional(),
    /** Fewer rows than the person's limit. */
    maxRows: z.number().int().min(1).max(1_000_000_000).optional(),
    /** The plan instead of the answer; `analyze` runs it and says where the time went. */
    explain: z.enum(['plan', 'analyze']).optional(),
    /** Id for DELETE /v1/query/{id} and for the log; a new one by default. */
    id: z
      .string()
      .regex(/^[\w-]{8,64}$/, 'expected 8 to 64 letters, digits, - or _')
      .optional(),
    /** Waits until vehicles, rankings and verdicts have been copied anew. */
    fresh: z.boolean().optional(),
  })
  .strict();
export type QueryRequest = z.infer<typeof queryRequestSchema>;

export const queryLimitsSchema = z
  .object({
    rows: z.number().int().min(1).max(1_000_000_000),
    seconds: z.number().positive().max(86_400),
    memoryMb: z.number().int().min(128).max(1_048_576),
    /** Queries of the person that may run at once. */
    atOnce: z.number().int().min(1).max(64),
  })
  .strict();
export type QueryLimits = z.infer<typeof queryLimitsSchema>;

/** GET /v1/query/{id}: how a query went, kept for a while. */
export const queryStatusSchema = z.object({
  id: z.string(),
  person: z.string(),
  state: z.enum(['waiting', 'running', 'done', 'failed', 'cancelled']),
  startedAt: z.string(),
  seconds: z.number(),
  rows: z.number().int().nullable(),
  bytes: z.number().int(),
  /** Rows were cut off at the row limit. */
  truncated: z.boolean(),
  problem: z.object({ code: z.string(), detail: z.string(), advice: z.string().optional() }).nullable(),
});
export type QueryStatus = z.infer<typeof queryStatusSchema>;

export const resultColumnSchema = z.object({ name: z.string(), type: z.string(), duckType: z.string() });

/** A JSON answer. */
export const queryAnswerSchema = z.object({
  columns: z.array(resultColumnSchema),
  rows: z.array(z.union([z.array(z.unknown()), z.record(z.string(), z.unknown())])),
  rowCount: z.number().int(),
  truncated: z.boolean(),
});
export type QueryAnswer = z.infer<typeof queryAnswerSchema>;

/** GET /v1/query/views: what can be asked, for people and for completion. */
export const queryViewsSchema = z.object({
  views: z.array(
    z.object({
      name: z.string(),
      comment: z.string(),
      columns: z.array(
        z.object({
          name: z.string(),
          type: z.string(),
          unit: z.string().nullable(),
          meaning: z.string(),
          source: z.string(),
        }),
      ),
    }),
  ),
  functions: z.array(z.string()),
});
export type QueryViews = z.infer<typeof queryViewsSchema>;

const questionName = z.string().trim().min(1).max(120);

/** Body of PUT /v1/questions/{id}. */
export const questionInputSchema = z
  .object({
    name: questionName,
    sql: z.string().min(1).max(20_000),
    parameters: queryParametersSchema.optional(),
    description: z.string().max(4_000).optional(),
    /** A cron pattern of five fields, run in `timeZone`. */
    schedule: z
      .object({ pattern: z.string().min(1).max(100), timeZone: z.string().min(1).max(60) })
      .nullable()
      .optional(),
  })
  .strict();
export type QuestionInput = z.infer<typeof questionInputSchema>;

export const questionSchema = questionInputSchema.extend({
  id: z.string(),
  owner: z.string(),
  version: z.number().int(),
  updatedAt: z.string(),
});
export type Question = z.infer<typeof questionSchema>;
export const questionListSchema = z.object({ questions: z.array(questionSchema) });

/** A kept answer; whoever has its id may read it at GET /v1/query-results/{id}. */
export const queryResultSchema = z.object({
  id: z.string(),
  question: z.string().nullable(),
  name: z.string().nullable(),
  sql: z.string(),
  person: z.string(),
  madeAt: z.string(),
  rows: z.number().int(),
  bytes: z.number().int(),
  truncated: z.boolean(),
  problem: z.string().nullable(),
});
export type QueryResult = z.infer<typeof queryResultSchema>;
export const queryResultListSchema = z.object({ results: z.array(queryResultSchema) });

/** GET /v1/lake: how much there is. */
const keepDays = z.number().int().min(1).max(36_500).nullable().default(null);

/** Days that rows stay in each table of the lake, by an upload's newest row; null = for ever. `uploads` always stay. */
export const lakeKeepingSchema = z
  .object({
    ...{ samples: keepDays, unmapped: keepDays, drives: keepDays, dwell: keepDays, signal_stats: keepDays },
    ...{ markers: keepDays, crossings: keepDays, snapshots: keepDays, codes: keepDays, monitors: keepDays },
    /** Revisions of a week's ranking that a newer one has superseded; the newest always stays. */
    superseded_rankings: keepDays,
  })
  .strict();
export type LakeKeeping = z.infer<typeof lakeKeepingSchema>;

const amount = z.object({ files: z.number().int(), bytes: z.number() });

/** What the last round of upkeep did. */
export const lakeUpkeepSchema = z.object({
  at: z.iso.datetime(),
  /** Packs of small files that were made, and the files that they stand for. */
  packed: z.object({ packed: z.number().int(), files: z.number().int() }).default({ packed: 0, files: 0 }),
  /** Out of the lake for good, after the grace. */
  removed: amount,
  /** Of that, files of uploads whose rows were older than their table keeps, taken out in this round. */
  expired: z.object({ uploads: z.number().int(), tables: z.record(z.string(), z.number().int()) }),
  superseded: amount,
  abandoned: amount,
  /** Files that still lie there and count no more, or not yet. */
  withheld: z.number().int(),
});
export type LakeUpkeep = z.infer<typeof lakeUpkeepSchema>;

export const lakeSizeSchema = z.object({
  /** Null before the first round. */
  upkeep: lakeUpkeepSchema.nullable().default(null),
  tables: z.array(z.object({ table: z.string(), files: z.number().int(), bytes: z.number() })),
  vehicles: z.array(
    z.object({
      vehicle: z.string(),
      files: z.number().int(),
      bytes: z.number(),
      uploads: z.number().int(),
      oldestMs: z.number().nullable(),
      newestMs: z.number().nullable(),
    }),
  ),
});
