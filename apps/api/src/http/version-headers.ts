import { TallybayError } from '@tallybay/contracts';
import type { PutOptions } from '@tallybay/registry';
import type { FastifyReply } from 'fastify';

/**
 * The version that an edit was made against, by RFC 9110 conditional headers: `If-Match: "3"`, or `If-None-Match: *` for
 * "must not exist yet". Without either, whatever is there is replaced.
 * @throws TallybayError `parameter_invalid`
 */
export function expectedVersion(headers: Record<string, string | string[] | undefined>): PutOptions {
  if (headers['if-none-match'] === '*') return { expectedVersion: 0 };
  const match = headers['if-match'];
  if (match === undefined || match === '*') return {};
  const version = /^"([1-9]\d{0,8})"$/.exec(String(match))?.[1];
  if (version === undefined)
    throw new TallybayError('parameter_invalid', `If-Match: ${String(match)} is not a version such as "3"`, {
      advice: 'Send the ETag of the record as it was read, in its quotes',
      place: { field: 'If-Match' },
    });
  return { expectedVersion: Number(version) };
}

/** Sends a record with its version as ETag. */
export function versioned<T extends { version: number }>(reply: FastifyReply, record: T): T {
  void reply.header('etag', `"${record.version}"`);
  return record;
}
