import { randomInt } from 'node:crypto';
import { TOPICS } from '@tallybay/contracts';
import {
  openStream,
  type ReceivedMessage,
  type Stream,
  type StreamProducer,
  streamConfigFrom,
  streamEnvironmentShape,
} from '@tallybay/stream';
import { z } from 'zod';

/** Reads the log topic as a group of its own and sends what it has read once more, shuffled. */
export class Repeater {
  repeated = 0;
  private readonly waiting: ReceivedMessage[] = [];
  private readonly seen = new Set<string>();

  private constructor(
    private readonly stream: Stream,
    private readonly producer: StreamProducer,
  ) {}

  static async start(home: string, environment: Record<string, string>): Promise<Repeater> {
    const settings = z.object(streamEnvironmentShape).parse(environment);
    const stream = await openStream(streamConfigFrom(settings, home));
    const repeater = new Repeater(stream, await stream.producer());
    const consumer = await stream.consumer('repeater', [TOPICS.logs]);
    await consumer.run({ onMessages: async (messages) => repeater.take(messages) });
    return repeater;
  }

  /** Sends everything read so far again, in random order. */
  async repeat(): Promise<void> {
    const messages = this.waiting.splice(0);
    for (let i = messages.length - 1; i > 0; i--) {
      const j = randomInt(0, i + 1);
      [messages[i], messages[j]] = [messages[j]!, messages[i]!];
    }
    for (const { key, value, headers } of messages) await this.producer.send(TOPICS.logs, [{ key, value, headers }]);
    this.repeated += messages.length;
  }

  async close(): Promise<void> {
    await this.stream.close();
  }

  private take(messages: ReceivedMessage[]): void {
    for (const message of messages) {
      // Its own repetitions come back to it; each message is repeated once.
      const name = message.headers.meta ?? '';
      if (this.seen.has(name)) continue;
      this.seen.add(name);
      this.waiting.push(message);
    }
  }
}
