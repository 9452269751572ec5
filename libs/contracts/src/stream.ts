import { z } from 'zod';
import { contextSchema, limitDirectionSchema, limitStageSchema } from './crossings.js';

/** Topics of the stream; both carry the vehicle id as key, so one vehicle's messages stay in order. */
export const TOPICS = {
  logs: 'tallybay.logs.v1',
  snapshots: 'tallybay.snapshots.v1',
  deadLetters: 'tallybay.dead-letters.v1',
  events: 'tallybay.events.v1',
} as const;

/**
 * Header of one chunk of a log, JSON in the message's `meta` header; the message value is one zstd frame (RFC 8878) of
 * whole rows. The `plan` header holds libs/decode's LogPlan, JSON as well: with it the chunk can be decoded without any
 * other message. It is kept apart because it is large, the same in every chunk, and read only for the first.
 */
export const logChunkMetaSchema = z.object({
  version: z.literal(1),
  uploadId: z.string(),
  vehicleId: z.string(),
  recorderId: z.string().nullable(),
  fileName: z.string().nullable(),
  ordinal: z.number().int().nonnegative(),
  /** Set on every chunk: an upload is complete when `ordinal === chunks - 1` has been decoded. */
  chunks: z.number().int().positive(),
  /** Byte offset of the chunk in the log, before compression. */
  byteOffset: z.number().int().nonnegative(),
  byteLength: z.number().int().nonnegative(),
  /** Distinguishes a deliberate new decode of the same upload (new catalogue, new profile) from a second delivery. */
  attempt: z.number().int().nonnegative(),
  /** Vehicles that earlier decodes of this upload may have put its rows under; they are removed there. */
  formerVehicleIds: z.array(z.string()),
});
export type LogChunkMeta = z.infer<typeof logChunkMetaSchema>;

/** Header of a snapshot message; the value is the snapshot's JSON body, zstd-compressed. */
export const snapshotMetaSchema = z.object({
  version: z.literal(1),
  uploadId: z.string(),
  vehicleId: z.string(),
  recorderId: z.string().nullable(),
  fileName: z.string().nullable(),
  attempt: z.number().int().nonnegative(),
  formerVehicleIds: z.array(z.string()),
});
export type SnapshotMeta = z.infer<typeof snapshotMetaSchema>;

/**
 * Things other systems may want to know, one JSON message each on TOPICS.events, with its `kind` as a header too. At least
 * once: the same event may come again. Kinds are added over time; a reader passes over those that it does not know.
 */
export const eventSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('upload_stored'),
    at: z.string(),
    uploadId: z.string(),
    vehicleId: z.string(),
    rows: z.number(),
  }),
  /** A new upload was found beyond a limit; `id` is the crossing's, the same if the event comes again. Values in `unit`. */
  z.object({
    kind: z.literal('limit_exceeded'),
    at: z.string(),
    id: z.string(),
    uploadId: z.string(),
    vehicleId: z.string(),
    signal: z.string(),
    unit: z.string(),
    direction: limitDirectionSchema,
    stage: limitStageSchema,
    limit: z.number(),
    start: z.string(),
    end: z.string(),
    seconds: z.number(),
    worst: z.number(),
    worstAt: z.string(),
    context: contextSchema,
  }),
  /** A visit of the shop plan was planned, changed or taken away. */
  z.object({
    kind: z.literal('visit_changed'),
    at: z.string(),
    visit: z.string(),
    vehicleId: z.string(),
    depot: z.string(),
    bay: z.string(),
    day: z.string(),
    from: z.string(),
    state: z.string(),
    cancelled: z.boolean(),
    version: z.number(),
  }),
  z.object({ kind: z.literal('ranking_published'), at: z.string(), week: z.string(), revision: z.number() }),
]);
export type StreamEvent = z.infer<typeof eventSchema>;

/** Answer of GET /v1/events, newest last. */
export const eventListSchema = z.object({ events: z.array(eventSchema) });
export type EventList = z.infer<typeof eventListSchema>;
