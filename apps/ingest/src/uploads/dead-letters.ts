import {
  classifyError,
  type DeadLetter,
  type DeadLetterList,
  problemSchema,
  type ReplayRequest,
  type ReplayResult,
  TallybayError,
  TOPICS,
} from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import type { ReceivedMessage, Stream, StreamProducer } from '@tallybay/stream';
import { z } from 'zod';
import type { Reprocess } from './reprocess.js';

/** The newest so many are looked through for a replay. */
const REPLAY_LIMIT = 10_000;

const originSchema = z.object({ topic: z.string(), partition: z.number(), offset: z.string() });
const metaSchema = z.object({ uploadId: z.string() });

/** What was set aside: shown with its reason, and sent on its way again once the reason is gone. */
export class DeadLetters {
  constructor(
    private readonly stream: Stream,
    private readonly producer: StreamProducer,
    private readonly registry: Registry,
    private readonly reprocess: Reprocess,
  ) {}

  /** The newest `limit`, newest last; a message that was set aside twice (after a crash) is shown once. */
  async list(limit: number): Promise<DeadLetterList> {
    const messages = await this.newest(limit);
    return { deadLetters: await Promise.all([...messages].map(([id, message]) => this.letter(id, message))) };
  }

  /**
   * Of an upload the landing store has all bytes, so it is decoded again as a whole: its files are replaced, and exactly the
   * missing rows appear. A message that names no upload goes back to its topic as it was.
   * @throws TallybayError `dead_letter_unknown`
   */
  async replay(request: ReplayRequest): Promise<ReplayResult> {
    const messages = await this.newest(REPLAY_LIMIT);
    const unknown = request.ids?.find((id) => !messages.has(id));
    if (unknown !== undefined)
      throw new TallybayError('dead_letter_unknown', `There is no dead letter ${unknown}`, {
        advice: 'GET /v1/dead-letters lists them with their ids.',
        place: { field: 'ids' },
      });
    const result: ReplayResult = { uploads: [], messages: [], refused: [] };
    const seen = new Set<string>();
    for (const [id, message] of messages) {
      if (request.ids && !request.ids.includes(id)) continue;
      const letter = await this.letter(id, message);
      if (letter.uploadId !== null && seen.has(letter.uploadId)) continue;
      if (letter.uploadId !== null) seen.add(letter.uploadId);
      if (!request.ids && letter.uploadState !== 'failed') continue;
      await this.replayOne(letter, message, result);
    }
    return result;
  }

  private async replayOne(letter: DeadLetter, message: ReceivedMessage, result: ReplayResult): Promise<void> {
    try {
      if (letter.uploadState !== null) {
        await this.reprocess.decodeAgain(letter.uploadId!);
        result.uploads.push(letter.uploadId!);
      } else {
        const { reason, origin, ...headers } = message.headers;
        const { topic } = originSchema.parse(jsonOrNull(origin));
        await this.producer.send(topic, [{ key: message.key, value: message.value, headers }]);
        result.messages.push(letter.id);
      }
    } catch (thrown) {
      const error = classifyError(thrown);
      if (error.problem.disposition === 'retry') throw error;
      result.refused.push({ id: letter.id, problem: error.toDocument() });
    }
  }

  private async newest(limit: number): Promise<Map<string, ReceivedMessage>> {
    const messages = await this.stream.browse(TOPICS.deadLetters, limit);
    return new Map(messages.map((message) => [idOf(message), message]));
  }

  private async letter(id: string, message: ReceivedMessage): Promise<DeadLetter> {
    const uploadId = metaSchema.safeParse(jsonOrNull(message.headers.meta)).data?.uploadId ?? null;
    const upload = uploadId === null ? null : await this.registry.uploads.get(uploadId);
    return {
      id,
      at: new Date(message.timestampMs).toISOString(),
      key: message.key,
      bytes: message.value.length,
      reason: problemSchema.safeParse(jsonOrNull(message.headers.reason)).data ?? null,
      uploadId,
      uploadState: upload?.state ?? null,
    };
  }
}

function idOf(message: ReceivedMessage): string {
  const origin = originSchema.safeParse(jsonOrNull(message.headers.origin)).data ?? message;
  return `${origin.topic}/${origin.partition}/${origin.offset}`;
}

function jsonOrNull(text: string | undefined): unknown {
  try {
    return JSON.parse(text ?? 'null');
  } catch {
    return null;
  }
}
