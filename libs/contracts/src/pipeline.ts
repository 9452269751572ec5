import { z } from 'zod';
import { problemSchema } from './problem.js';
import { uploadStateSchema } from './upload.js';

/** Answer of GET /v1/pipeline: how far the path is. */
export const pipelineSchema = z.object({
  /** Uploads by state. */
  uploads: z.partialRecord(uploadStateSchema, z.number().int()),
  /** Messages on the stream that no decode worker has finished with. */
  lag: z.number().int(),
  partitions: z.array(
    z.object({
      topic: z.string(),
      partition: z.number().int(),
      /** Offsets in decimal: they may be larger than a number holds. */
      committed: z.string(),
      end: z.string(),
    }),
  ),
});
export type PipelineState = z.infer<typeof pipelineSchema>;

/** A message that was set aside: why, from where, how many bytes. `id` names it for a replay. */
export const deadLetterSchema = z.object({
  /** `topic/partition/offset` that it was read from. */
  id: z.string(),
  at: z.string(),
  /** Vehicle. */
  key: z.string(),
  bytes: z.number().int(),
  reason: problemSchema.nullable(),
  uploadId: z.string().nullable(),
  /** The upload's state now: `stored` once a replay has brought its rows in; null where it names no known upload. */
  uploadState: uploadStateSchema.nullable(),
});
export type DeadLetter = z.infer<typeof deadLetterSchema>;

export const deadLetterListSchema = z.object({ deadLetters: z.array(deadLetterSchema) });
export type DeadLetterList = z.infer<typeof deadLetterListSchema>;

/** Body of POST /v1/dead-letters/replay; without `ids`, everything whose upload is still failed. */
export const replayRequestSchema = z.object({ ids: z.array(z.string().min(1)).min(1).max(10_000).optional() }).strict();
export type ReplayRequest = z.infer<typeof replayRequestSchema>;

/** What became of each: decoded again from the stored bytes, or (where no upload is named) sent again as it was. */
export const replayResultSchema = z.object({
  uploads: z.array(z.string()),
  messages: z.array(z.string()),
  refused: z.array(z.object({ id: z.string(), problem: problemSchema })),
});
export type ReplayResult = z.infer<typeof replayResultSchema>;

/** Body of POST /v1/decode-again: which uploads; what is named must all hold. */
export const decodeAgainRequestSchema = z
  .object({
    vehicle: z.string().min(1).max(80).optional(),
    /** ISO week in the zone of each vehicle's depot. */
    week: z
      .string()
      .regex(/^\d{4}-W\d{2}$/, 'expected an ISO week such as 2026-W41')
      .optional(),
    state: z.enum(['stored', 'failed']).optional(),
  })
  .strict()
  .refine((request) => Object.values(request).some((value) => value !== undefined), {
    error: 'name a vehicle, a week or a state',
  });
export type DecodeAgainRequest = z.infer<typeof decodeAgainRequestSchema>;

/** Uploads on their way again, and those that could not be sent. */
export const decodeAgainResultSchema = z.object({
  uploads: z.array(z.string()),
  refused: z.array(z.object({ id: z.string(), problem: problemSchema })),
});
export type DecodeAgainResult = z.infer<typeof decodeAgainResultSchema>;

/**
 * Answer of POST /v1/lake-check. Damaged files were taken out of the lake; `missing` uploads are stored by the registry's
 * word and have nothing in the lake (deleted by hand, or a lake restored from an older copy). All were marked failed.
 */
export const lakeCheckSchema = z.object({
  files: z.number().int(),
  damaged: z.array(z.object({ file: z.string(), uploadId: z.string().nullable(), why: z.string() })),
  missing: z.array(z.object({ uploadId: z.string(), vehicle: z.string() })),
});
export type LakeCheck = z.infer<typeof lakeCheckSchema>;
