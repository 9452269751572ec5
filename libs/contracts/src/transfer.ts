import { z } from 'zod';
import { uploadReceiptSchema } from './upload.js';

/**
 * A transfer brings one log over a line that may break. Its header names and their meaning follow the IETF draft "Resumable
 * Uploads for HTTP" (draft-ietf-httpbis-resumable-upload: Upload-Offset, Upload-Complete, Upload-Length) and RFC 9530
 * (Repr-Digest); booleans, integers and byte sequences are written as structured fields (RFC 9651).
 */
export const TRANSFER_HEADERS = {
  offset: 'upload-offset',
  complete: 'upload-complete',
  length: 'upload-length',
  digest: 'repr-digest',
} as const;

/** Media type of the bytes of one PATCH, as that draft names it. */
export const PARTIAL_UPLOAD = 'application/partial-upload';

/** Where an open transfer stands. */
export const transferSchema = z.object({
  id: z.string(),
  /** Bytes received so far: the next PATCH begins here. */
  offset: z.number().int().min(0),
  /** Bytes that the whole has. */
  length: z.number().int().min(1),
  /** Instant after which it is dropped unless more bytes arrive. */
  expiresAt: z.string(),
});
export type Transfer = z.infer<typeof transferSchema>;

/** Answer of POST /v1/transfers: the open transfer, or the upload that the same bytes became before. One is null. */
export const transferOpenedSchema = z.object({
  transfer: transferSchema.nullable(),
  upload: uploadReceiptSchema.nullable(),
});
export type TransferOpened = z.infer<typeof transferOpenedSchema>;
