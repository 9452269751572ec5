import { setTimeout as sleep } from 'node:timers/promises';
import type { Assignment, ReceivedMessage, StreamConsumer, StreamMessage } from '@tallybay/stream';

/** A message whose value is `text`, for tests. */
export function textMessage(key: string, text: string, headers: Record<string, string> = {}): StreamMessage {
  return { key, value: Buffer.from(text), headers };
}

export function textOf(message: { value: Uint8Array }): string {
  return Buffer.from(message.value).toString();
}

/** Waits until `check` holds; fails with `what` and the last state otherwise. */
export async function eventually(what: string, check: () => boolean | Promise<boolean>, limitMs = 30_000) {
  const giveUpAt = Date.now() + limitMs;
  while (!(await check())) {
    if (Date.now() > giveUpAt) throw new Error(`Still not so after ${limitMs} ms: ${what}`);
    await sleep(10);
  }
}

/** Collects what a consumer delivers, keeping the order of arrival; commits as told. */
export class Collector {
  readonly received: ReceivedMessage[] = [];
  readonly revoked: Assignment[] = [];
  stoppedWith: { error: unknown } | undefined;

  constructor(
    private readonly consumer: StreamConsumer,
    private readonly commits: 'each call' | 'never',
  ) {}

  async start(): Promise<this> {
    await this.consumer.run({
      onMessages: async (messages, assignment) => {
        this.received.push(...messages);
        if (this.commits === 'each call') await this.consumer.commit(assignment, messages.at(-1)!.offset + 1n);
      },
      onRevoked: async (assignments) => {
        this.revoked.push(...assignments);
      },
      onStopped: (error) => {
        this.stoppedWith = { error };
      },
    });
    return this;
  }

  texts(): string[] {
    return this.received.map(textOf);
  }

  async untilCount(count: number): Promise<void> {
    await eventually(`${count} messages (has ${this.received.length})`, () => this.received.length >= count);
  }
}

/** Fails unless each key's messages `<key>:<n>` are exactly 0..count-1, each once, in order. */
export function assertEachOnceInOrder(messages: ReceivedMessage[], keys: string[], count: number): void {
  for (const key of keys) {
    const texts = messages.filter((message) => message.key === key).map(textOf);
    const expected = Array.from({ length: count }, (_, n) => `${key}:${n}`);
    const wrong = expected.findIndex((text, n) => texts[n] !== text);
    if (wrong !== -1) throw new Error(`Key ${key}, message ${wrong}: expected ${expected[wrong]}, got ${texts[wrong]}`);
    if (texts.length > count) throw new Error(`Key ${key}: ${texts.length - count} more than ${count}`);
  }
}
