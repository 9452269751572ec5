import { Readable } from 'node:stream';
import type { QueryStatus } from '@tallybay/contracts';
import type { FastifyReply } from 'fastify';
import type { StreamedAnswer } from './query-service.js';

export const QUERY_HEADER = 'x-tallybay-query';
export const TRUNCATED_TRAILER = 'x-tallybay-truncated';

const ENDING = { json: 'json', csv: 'csv', arrow: 'arrows', parquet: 'parquet' } as const;

/**
 * Streams an answer. A query that fails half-way cuts the connection, so that no part is taken for the whole; why is at
 * GET /v1/query/{id}. Whether rows were cut off at the limit comes after the last byte, as a trailer (RFC 9110, section 6.5).
 */
export async function sendAnswer(
  reply: FastifyReply,
  answer: StreamedAnswer,
  status: (id: string) => QueryStatus | null,
): Promise<void> {
  const { id, type, format, bytes } = answer;
  const isCut = () => String(status(id)?.truncated ?? false);
  void reply.headers({
    'content-type': format === 'csv' ? `${type}; charset=utf-8; header=present` : type,
    'content-disposition': `${format === 'json' ? 'inline' : 'attachment'}; filename="${id}.${ENDING[format]}"`,
    [QUERY_HEADER]: id,
    'cache-control': 'no-store',
    vary: 'accept',
  });
  reply.trailer(TRUNCATED_TRAILER, async () => isCut());
  await reply.send(Readable.from(bytes, { objectMode: false, highWaterMark: 1 << 20 }));
}
