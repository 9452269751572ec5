import type { Stream } from '@tallybay/stream';

export interface DeadLetter {
  at: string;
  key: string;
  bytes: number;
  reason: unknown;
  origin: unknown;
  uploadId: string | null;
}

/** Shows what was set aside: why, from where, how many bytes. The bytes stay on the stream and in the landing store. */
export class DeadLetters {
  constructor(private readonly stream: Stream) {}

  async list(topic: string, limit: number): Promise<{ deadLetters: DeadLetter[] }> {
    const messages = await this.stream.browse(topic, limit);
    const deadLetters = messages.map((message) => ({
      at: new Date(message.timestampMs).toISOString(),
      key: message.key,
      bytes: message.value.length,
      reason: jsonOrNull(message.headers.reason),
      origin: jsonOrNull(message.headers.origin),
      uploadId: (jsonOrNull(message.headers.meta) as { uploadId?: string } | null)?.uploadId ?? null,
    }));
    return { deadLetters };
  }
}

function jsonOrNull(text: string | undefined): unknown {
  try {
    return JSON.parse(text ?? 'null');
  } catch {
    return null;
  }
}
