import { z } from 'zod';
import { queryFormatSchema, queryParametersSchema, resultColumnSchema } from './query.js';

/**
 * What the api and the analysts' process say to each other. Asks go in as lines of JSON on its standard input; answers come out
 * of its standard output as frames: one byte of kind, four bytes of length (little-endian), that many bytes. One ask at a time.
 */
export const FRAME = { columns: 1, bytes: 2, end: 3, failed: 4, ready: 5 } as const;
export type FrameKind = (typeof FRAME)[keyof typeof FRAME];
export const FRAME_HEADER_BYTES = 5;

export const analystAskSchema = z.object({
  sql: z.string(),
  parameters: queryParametersSchema.optional(),
  format: queryFormatSchema,
  shape: z.enum(['arrays', 'objects']).optional(),
  maxRows: z.number().int().positive(),
  explain: z.enum(['plan', 'analyze']).optional(),
  resultFile: z.string().optional(),
});
export type AnalystAskMessage = z.infer<typeof analystAskSchema>;

export const columnsFrameSchema = z.object({ columns: z.array(resultColumnSchema) });
export const endFrameSchema = z.object({ rows: z.number().int(), truncated: z.boolean() });
export const failedFrameSchema = z.object({ code: z.string(), detail: z.string(), advice: z.string().optional() });
