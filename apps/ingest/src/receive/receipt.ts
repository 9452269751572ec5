import type { UploadReceipt } from '@tallybay/contracts';
import type { UploadRow } from '@tallybay/registry';

/** 32 hex digits (128 bits) of the content's SHA-256: the same bytes are the same upload. */
export const uploadIdOf = (sha256: string): string => sha256.slice(0, 32);

export const receiptOf = (upload: UploadRow, duplicate: boolean): UploadReceipt => ({
  id: upload.id,
  state: upload.state,
  duplicate,
  bytes: upload.bytes,
  vehicle: upload.vehicle,
  problem: upload.problem,
});
