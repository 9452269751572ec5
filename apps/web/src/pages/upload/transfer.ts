import type { Upload, UploadReceipt } from '@tallybay/contracts';
import { addressOf } from '../../app/location.js';
import { getJson, ProblemError, problemFrom, unreachable } from '../../data/http.js';

/** What goes over the line as one upload. */
export interface Parcel {
  path: '/v1/logs' | '/v1/snapshots';
  body: Blob;
  sha256: string;
  /** Of `body` as it is sent: another than `sha256` where that is packed. */
  sentSha256: string;
  parameters: Record<string, string | null>;
}

/** Whether these bytes were sent before, by whom ever. */
export async function isThere(sha256: string): Promise<Upload | null> {
  try {
    return await getJson<Upload>(`/v1/uploads/by-hash/${sha256}`);
  } catch (error) {
    if (error instanceof ProblemError && error.problem.status === 404) return null;
    throw error;
  }
}

/** Sends one parcel in one go. @throws ProblemError */
export async function send(parcel: Parcel, onProgress: (share: number) => void): Promise<UploadReceipt> {
  const type = parcel.path === '/v1/logs' ? 'application/octet-stream' : 'application/json';
  const address = addressOf(parcel.path, parcel.parameters);
  const answer = await sendBytes({ method: 'POST', address, type, headers: {}, body: parcel.body }, onProgress);
  return JSON.parse(answer) as UploadReceipt;
}

export interface Sending {
  method: 'POST' | 'PATCH';
  address: string;
  type: string;
  headers: Record<string, string>;
  body: Blob;
}

/**
 * Sends bytes and returns the answer's text. XMLHttpRequest, because `fetch` does not tell how much has left the machine.
 * @throws ProblemError
 */
export function sendBytes(sending: Sending, onProgress: (share: number) => void): Promise<string> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open(sending.method, sending.address);
    for (const [name, value] of Object.entries({ 'content-type': sending.type, ...sending.headers }))
      request.setRequestHeader(name, value);
    request.upload.onprogress = ({ loaded, total }) => onProgress(total > 0 ? loaded / total : 0);
    request.onload = () => {
      if (request.status >= 200 && request.status < 300) resolve(request.responseText);
      else reject(new ProblemError(problemFrom(request.responseText, request.status)));
    };
    request.onerror = () => reject(new ProblemError(unreachable()));
    request.send(sending.body);
  });
}
