import { TallybayError } from '@tallybay/contracts';
import type { TransferRecord } from './transfer-files.js';

export const busy = (id: string): TallybayError =>
  new TallybayError('transfer_busy', `Another request is sending transfer ${id} now`, {
    advice: 'Ask for the offset in a moment and go on from there, or let the other one end.',
  });

export const wrongOffset = (said: number, { id, safe }: TransferRecord): TallybayError =>
  new TallybayError('transfer_offset', `Transfer ${id} goes on at byte ${safe}, not at ${said}`, {
    advice: `Send the bytes from ${safe} on, with Upload-Offset: ${safe}.`,
    place: { field: 'upload-offset' },
  });

export const wrongLength = (what: string, safe: number): TallybayError =>
  new TallybayError('transfer_length', what, {
    advice: `Go on at byte ${safe}; if the file has changed since it was announced, open a transfer anew.`,
    place: { field: 'upload-length' },
  });

export const altered = (announced: string, arrived: string): TallybayError =>
  new TallybayError('transfer_altered', `SHA-256 ${announced} was announced, ${arrived} arrived`, {
    advice:
      'The transfer was dropped and nothing was stored. Check that nobody is writing to the file, and send it again.',
    place: { field: 'repr-digest' },
  });

export const tooLarge = (length: number, maxBytes: number): TallybayError =>
  new TallybayError('body_too_large', `${length} bytes are announced; a log may have ${maxBytes}`, {
    advice: 'Split the log, or raise TALLYBAY_MAX_UPLOAD_BYTES.',
  });

export const stoppingError = (): TallybayError =>
  new TallybayError('service_stopping', 'This process is stopping and takes nothing new', {
    advice: 'Go on in a moment; the transfer keeps its bytes.',
  });
