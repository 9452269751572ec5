import type { Transfer, TransferOpened, UploadReceipt } from '@tallybay/contracts';
import { addressOf } from '../../app/location.js';
import { ProblemError, sendJson } from '../../data/http.js';
import { type Parcel, sendBytes } from './transfer.js';

/** Smaller logs are sent whole; one piece of a longer one has so many bytes, and is safe on the server once it is answered. */
export const PIECE_BYTES = 8 << 20;
const FIRST_REST_MS = 1_000;
const MAX_REST_MS = 30_000;
/** Tries in a row without a byte of progress, about three minutes, before a person is asked. */
const MAX_TRIES = 9;
/** Opening the transfer again tells where it goes on, or that it must begin anew. */
const MOVED = ['transfer_offset', 'transfer_unknown'];

export interface PieceHooks {
  /** 0..1 of the whole, counting what earlier visits of the page have sent. */
  onProgress(share: number): void;
  /** The line is broken; it is tried again by itself. */
  onRest(): void;
}

/**
 * Sends a log in pieces, from where an earlier try or an earlier visit of the page stopped, and through breaks of the line.
 * The header names are those of the IETF draft "Resumable Uploads for HTTP" and RFC 9530 (`TRANSFER_HEADERS` in contracts).
 * @throws ProblemError when the server refuses, or does not answer for long
 */
export async function sendInPieces(parcel: Parcel, hooks: PieceHooks): Promise<UploadReceipt> {
  let reached = -1;
  for (let tries = 0; ; tries++) {
    try {
      const { transfer, upload } = await open(parcel);
      if (upload) return upload;
      if (transfer!.offset > reached) tries = 0;
      reached = transfer!.offset;
      return await sendFrom(transfer!, parcel, hooks);
    } catch (error) {
      if (!(error instanceof ProblemError) || tries >= MAX_TRIES || !mayPass(error)) throw error;
      hooks.onRest();
      await rest(Math.min(MAX_REST_MS, FIRST_REST_MS * 2 ** tries));
    }
  }
}

async function sendFrom({ id, offset }: Transfer, { body }: Parcel, hooks: PieceHooks): Promise<UploadReceipt> {
  for (let at = offset; ; ) {
    hooks.onProgress(at / body.size);
    const from = at;
    const piece = body.slice(from, from + PIECE_BYTES);
    const isLast = from + piece.size >= body.size;
    const answer = await sendBytes(
      {
        ...{ method: 'PATCH', address: `/v1/transfers/${id}`, type: 'application/partial-upload', body: piece },
        headers: { 'upload-offset': String(from), 'upload-complete': isLast ? '?1' : '?0' },
      },
      (share) => hooks.onProgress((from + share * piece.size) / body.size),
    );
    if (isLast) return JSON.parse(answer) as UploadReceipt;
    at += piece.size;
  }
}

const open = ({ parameters, body, sentSha256 }: Parcel): Promise<TransferOpened> =>
  sendJson<TransferOpened>('POST', addressOf('/v1/transfers', parameters), undefined, {
    'upload-length': String(body.size),
    'repr-digest': `sha-256=:${base64Of(sentSha256)}:`,
  });

/** No answer, a server that is busy or restarting, or a transfer that moved: none of them says anything about the log. */
const mayPass = ({ problem: { status, code } }: ProblemError): boolean =>
  status === 0 || status >= 502 || code === 'transfer_busy' || MOVED.includes(code);

const base64Of = (hex: string): string =>
  btoa(String.fromCharCode(...Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16))));

/** At once when the machine is on a network again. */
function rest(ms: number): Promise<void> {
  return new Promise((resolve) => {
    const go = () => {
      clearTimeout(timer);
      removeEventListener('online', go);
      resolve();
    };
    const timer = setTimeout(go, ms);
    addEventListener('online', go);
  });
}
