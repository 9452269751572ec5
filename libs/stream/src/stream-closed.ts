import { TallybayError } from '@tallybay/contracts';

/** The error of a call on something that was closed. */
export function streamClosed(what: string): TallybayError {
  return new TallybayError('stream_unavailable', `${what} is closed`, { advice: 'Open the stream again.' });
}
