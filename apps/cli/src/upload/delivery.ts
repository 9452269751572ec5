import {
  type ProblemDocument,
  type UploadReceipt,
  type UploadState,
  uploadReceiptSchema,
  uploadSchema,
} from '@tallybay/contracts';
import { type ServiceClient, ServiceError } from '../service/client.js';
import type { Parcel } from './parcel.js';
import { deliverByTransfer } from './transfer-delivery.js';

/** What the service says about bytes that it has. */
export interface Delivery {
  id: string;
  state: UploadState;
  /** It had them before. */
  duplicate: boolean;
  vehicle: string | null;
  problem: ProblemDocument | null;
}

/** Asks by content hash; null when the service does not have these bytes. */
export async function findDelivered(client: ServiceClient, sha256: string): Promise<Delivery | null> {
  const upload = await client.find({ method: 'GET', path: `/v1/uploads/by-hash/${sha256}` }, uploadSchema);
  if (!upload) return null;
  return { id: upload.id, state: upload.state, duplicate: true, vehicle: upload.vehicle, problem: upload.problem };
}

/** Sends one body; resolves when the service has it for good. `onBytes` gets the running total. */
export async function deliver(
  client: ServiceClient,
  parcel: Parcel,
  onBytes: (sentBytes: number) => void,
): Promise<Delivery> {
  const { id, state, duplicate, vehicle, problem } =
    (await tryTransfer(client, parcel, onBytes)) ?? (await sendWhole(client, parcel, onBytes));
  return { id, state, duplicate, vehicle, problem };
}

/** null for what is too short for a transfer, and from a service that is older than transfers. */
async function tryTransfer(
  client: ServiceClient,
  { file, ...parcel }: Parcel,
  onBytes: (sentBytes: number) => void,
): Promise<UploadReceipt | null> {
  if (!file) return null;
  try {
    return await deliverByTransfer(client, { ...parcel, file }, onBytes);
  } catch (error) {
    if (error instanceof ServiceError && error.code === 'route_unknown') return null;
    throw error;
  }
}

function sendWhole(
  client: ServiceClient,
  parcel: Parcel,
  onBytes: (sentBytes: number) => void,
): Promise<UploadReceipt> {
  const body = parcel.open();
  if ('pipe' in body) {
    let sent = 0;
    body.on('data', (part: Uint8Array) => onBytes((sent += part.length)));
  }
  const isLog = parcel.kind === 'log';
  return client.json(
    {
      method: 'POST',
      path: isLog ? '/v1/logs' : '/v1/snapshots',
      query: parcel.query,
      body,
      contentType: isLog ? 'application/octet-stream' : 'application/json',
    },
    uploadReceiptSchema,
  );
}
