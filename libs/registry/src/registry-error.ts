import { TallybayError } from '@tallybay/contracts';
import { AbortedTransactionError } from 'kysely';

/** SQLite primary result codes (sqlite.org/rescode.html) that mean "not now" or "not here", not a fault of the query. */
const SQLITE_UNAVAILABLE: Record<number, string> = {
  5: 'it is locked by another process',
  8: 'it is read-only',
  10: 'reading or writing the disk failed',
  11: 'the file is damaged',
  13: 'the disk is full',
  14: 'the file cannot be opened',
  26: 'the file is not a database',
};

/** PostgreSQL SQLSTATE classes (manual, appendix A): connection, resources, operator intervention, authorisation, catalogue. */
const POSTGRES_UNAVAILABLE = /^(08|53|57|28|3D)/;
const SOCKET_UNAVAILABLE = /^(ECONN|ENOTFOUND|EAI_|ETIMEDOUT|EPIPE|EHOSTUNREACH|ENETUNREACH)/;

/** A database error as ours; anything that is neither availability nor bad text keeps itself. */
export function registryErrorFrom(thrown: unknown): unknown {
  if (!(thrown instanceof Error) || thrown instanceof TallybayError) return thrown;
  const { code, errcode } = thrown as Error & { code?: string; errcode?: number };
  if (errcode !== undefined) {
    const why = SQLITE_UNAVAILABLE[errcode & 0xff];
    return why ? unavailable(`The SQLite registry cannot be used: ${why} (${thrown.message})`, thrown) : thrown;
  }
  // 22021: bytes that are no text in the database's encoding, such as U+0000.
  if (code === '22021')
    return new TallybayError('parameter_invalid', 'A text holds a character that cannot be stored, such as U+0000', {
      advice: 'Remove control characters from ids and names',
      cause: thrown,
    });
  if (thrown instanceof AbortedTransactionError || isConnectionLoss(thrown, code))
    return unavailable(`The PostgreSQL registry cannot be used: ${thrown.message || code}`, thrown);
  return thrown;
}

function isConnectionLoss(error: Error, code: string | undefined): boolean {
  if (code && (POSTGRES_UNAVAILABLE.test(code) || SOCKET_UNAVAILABLE.test(code))) return true;
  // The client gives these two without a code.
  return /Connection terminated|timeout exceeded when trying to connect/.test(error.message);
}

function unavailable(detail: string, cause: Error): TallybayError {
  return new TallybayError('registry_unavailable', detail, {
    advice: 'Check that the registry is up, has free disk space and may be written; the call can be repeated',
    cause,
  });
}
