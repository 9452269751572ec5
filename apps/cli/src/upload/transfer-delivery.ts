import { createReadStream } from 'node:fs';
import {
  PARTIAL_UPLOAD,
  TRANSFER_HEADERS,
  type TransferOpened,
  transferOpenedSchema,
  type UploadReceipt,
  uploadReceiptSchema,
} from '@tallybay/contracts';
import { type ServiceClient, ServiceError } from '../service/client.js';
import type { Parcel } from './parcel.js';

/** Smaller files are sent whole: sending one again costs less than asking how far it came. */
export const TRANSFER_FROM_BYTES = 8 << 20;

/** What a transfer says when somebody else moved it or it is gone: opening it again tells where to go on. */
const MOVED = ['transfer_offset', 'transfer_unknown'];
const MAX_OPENED = 3;

export type WholeFile = NonNullable<Parcel['file']>;

/**
 * Sends a file as a transfer: from where an earlier try, run or sender stopped. The service keeps what arrives, so a cut line,
 * Ctrl-C or a restart of the service costs no more than asking again.
 * @param onBytes gets how much of the file the service has been sent, by whomever
 * @throws ServiceError; `route_unknown` when the service knows no transfers
 */
export async function deliverByTransfer(
  client: ServiceClient,
  parcel: Parcel & { file: WholeFile },
  onBytes: (sentBytes: number) => void,
): Promise<UploadReceipt> {
  for (let opened = 1; ; opened++) {
    const { transfer, upload } = await open(client, parcel);
    if (upload) return upload;
    try {
      return await sendRest(client, parcel.file, transfer!, onBytes);
    } catch (error) {
      const isMoved = error instanceof ServiceError && MOVED.includes(error.code);
      if (!isMoved || opened === MAX_OPENED) throw error;
    }
  }
}

function open(client: ServiceClient, { file, query }: Parcel & { file: WholeFile }): Promise<TransferOpened> {
  const digest = Buffer.from(file.sha256, 'hex').toString('base64');
  return client.json(
    {
      ...{ method: 'POST', path: '/v1/transfers', query },
      headers: { [TRANSFER_HEADERS.length]: String(file.size), [TRANSFER_HEADERS.digest]: `sha-256=:${digest}:` },
    },
    transferOpenedSchema,
  );
}

function sendRest(
  client: ServiceClient,
  file: WholeFile,
  { id, offset }: NonNullable<TransferOpened['transfer']>,
  onBytes: (sentBytes: number) => void,
): Promise<UploadReceipt> {
  const body = createReadStream(file.path, { start: offset, highWaterMark: 256 * 1024 });
  let sent = offset;
  onBytes(sent);
  body.on('data', (part) => onBytes((sent += part.length)));
  return client.json(
    {
      ...{ method: 'PATCH', path: `/v1/transfers/${id}`, body, contentType: PARTIAL_UPLOAD },
      headers: { [TRANSFER_HEADERS.offset]: String(offset), [TRANSFER_HEADERS.complete]: '?1' },
    },
    uploadReceiptSchema,
  );
}
