import type { Upload, UploadReceipt } from '@tallybay/contracts';
import { addressOf } from '../../app/location.js';
import { getJson, ProblemError, problemFrom, unreachable } from '../../data/http.js';

/** What goes over the line as one upload. */
export interface Parcel {
  path: '/v1/logs' | '/v1/snapshots';
  body: Blob;
  sha256: string;
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

/**
 * Sends one parcel. XMLHttpRequest, because `fetch` does not tell how much has left the machine.
 * @throws ProblemError
 */
export function send(parcel: Parcel, onProgress: (share: number) => void): Promise<UploadReceipt> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open('POST', addressOf(parcel.path, parcel.parameters));
    const type = parcel.path === '/v1/logs' ? 'application/octet-stream' : 'application/json';
    request.setRequestHeader('content-type', type);
    request.upload.onprogress = ({ loaded, total }) => onProgress(total > 0 ? loaded / total : 0);
    request.onload = () => {
      if (request.status >= 200 && request.status < 300) resolve(JSON.parse(request.responseText) as UploadReceipt);
      else reject(new ProblemError(problemFrom(request.responseText, request.status)));
    };
    request.onerror = () => reject(new ProblemError(unreachable()));
    request.send(parcel.body);
  });
}
