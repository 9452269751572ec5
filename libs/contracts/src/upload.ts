import { z } from 'zod';
import { problemSchema } from './problem.js';

/**
 * An upload's life. `receiving` bytes are arriving; `landed` bytes safe, not yet on the stream; `waiting` needs a vehicle
 * or a time from a person; `queued` on the stream; `decoding`; `stored` in the lake; `failed` kept with its problem.
 */
export const uploadStateSchema = z.enum(['landed', 'waiting', 'queued', 'decoding', 'stored', 'failed']);
export type UploadState = z.infer<typeof uploadStateSchema>;

/** Something decided while receiving or decoding, in words a person can check: `{what:'vehicle', value:'KV-101', why:'named by the upload'}`. */
export const decisionSchema = z.object({ what: z.string(), value: z.string(), why: z.string() });
export type Decision = z.infer<typeof decisionSchema>;

export const uploadCountsSchema = z.object({
  rows: z.number().int(),
  rowsKept: z.number().int(),
  rowsRejected: z.number().int(),
  /** Reason -> rows, e.g. `row_short`. */
  rowsRejectedBy: z.record(z.string(), z.number().int()),
  /** Reason -> values left out, e.g. `out_of_range`, `stuck`, `jump`, `unreadable`. */
  valuesRejectedBy: z.record(z.string(), z.number().int()),
});
export type UploadCounts = z.infer<typeof uploadCountsSchema>;

export const uploadSchema = z.object({
  id: z.string(),
  kind: z.enum(['log', 'snapshot']),
  state: uploadStateSchema,
  vehicle: z.string().nullable(),
  recorder: z.string().nullable(),
  fileName: z.string().nullable(),
  bytes: z.number().int(),
  sha256: z.string(),
  receivedAt: z.string(),
  storedAt: z.string().nullable(),
  firstTime: z.string().nullable(),
  lastTime: z.string().nullable(),
  /** Chunks on the stream and chunks decoded so far. */
  progress: z.object({ chunks: z.number().int(), decoded: z.number().int() }),
  decisions: z.array(decisionSchema),
  counts: uploadCountsSchema.nullable(),
  /** Channels that map to no signal: kept in the lake's `unmapped` table. */
  unmapped: z.array(z.string()),
  /** Why it waits or failed. */
  problem: problemSchema.nullable(),
});
export type Upload = z.infer<typeof uploadSchema>;

/** Answer of POST /v1/logs and /v1/snapshots: 202 on first sight, 200 with `duplicate` for bytes seen before. */
export const uploadReceiptSchema = z.object({
  id: z.string(),
  state: uploadStateSchema,
  duplicate: z.boolean(),
  bytes: z.number().int(),
  vehicle: z.string().nullable(),
  problem: problemSchema.nullable(),
});
export type UploadReceipt = z.infer<typeof uploadReceiptSchema>;

/** What the sender of a log may say about it (query parameters, or the headers in parentheses). */
export const logParametersSchema = z.object({
  /** (x-tallybay-vehicle) vehicle id */
  vehicle: z.string().min(1).max(80).optional(),
  /** (x-tallybay-recorder) recorder serial */
  recorder: z.string().min(1).max(80).optional(),
  /** (x-tallybay-recorded-at) instant of the first row, RFC 3339 with offset */
  recordedAt: z.iso.datetime({ offset: true }).optional(),
  /** (x-tallybay-time-zone) IANA zone of the recorder's clock */
  timeZone: z.string().min(1).max(60).optional(),
  /** (x-tallybay-file-name, or Content-Disposition) the file's name: some recorders write the date only there */
  fileName: z.string().min(1).max(255).optional(),
});
export type LogParameters = z.infer<typeof logParametersSchema>;

/** POST /v1/uploads/{id}/release: what a person adds so that a waiting upload can go on. */
export const releaseSchema = logParametersSchema.pick({ vehicle: true, recordedAt: true, timeZone: true }).strict();
export type Release = z.infer<typeof releaseSchema>;

/** Answer of GET /v1/uploads: newest first; `next` is the value of `after` for the following page, null on the last. */
export const uploadListSchema = z.object({ uploads: z.array(uploadSchema), next: z.string().nullable().default(null) });
export type UploadList = z.infer<typeof uploadListSchema>;
