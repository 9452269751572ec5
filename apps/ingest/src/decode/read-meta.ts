import { TallybayError } from '@tallybay/contracts';
import type { ReceivedMessage } from '@tallybay/stream';

/** The message's `meta` header, or what is wrong with it. */
export function readMeta<T>(
  message: ReceivedMessage,
  schema: { parse(value: unknown): T },
): { meta: T } | { problem: TallybayError } {
  try {
    return { meta: schema.parse(JSON.parse(message.headers.meta ?? '')) };
  } catch (cause) {
    const where = `${message.topic}, partition ${message.partition}, offset ${message.offset}`;
    const problem = new TallybayError('chunk_undecodable', `The message at ${where} has no readable header`, {
      advice: 'Was it written by a newer version? Update, then replay it.',
      cause,
    });
    return { problem };
  }
}
