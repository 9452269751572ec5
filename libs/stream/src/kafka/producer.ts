import { TallybayError } from '@tallybay/contracts';
import { Partitioners, type Producer } from 'kafkajs';
import { type KafkaConfig, MAX_MESSAGE_BYTES } from '../config.js';
import type { StreamMessage, StreamProducer } from '../port.js';
import { streamClosed } from '../stream-closed.js';
import { kafkaClient, retriesFor } from './client.js';
import { kafkaUnavailable } from './kafka-problem.js';

/** One request carries at most so much, unless a single message is larger. */
const REQUEST_BYTES = 4 * 1024 * 1024;

interface Sending {
  topic: string;
  messages: StreamMessage[];
  bytes: number[];
  /** How many of `messages` went into requests so far, and how many of those are acknowledged. */
  taken: number;
  acknowledged: number;
  expired: boolean;
  resolve(): void;
  reject(error: unknown): void;
}

/**
 * An idempotent producer, acks=all. One request is under way at a time and waiting sends are gathered into the next:
 * kafkajs serialises idempotent requests anyway, and two of its sends in flight may change places when one is retried.
 *
 * A failed request leaves the producer's sequence numbers in doubt: the broker may hold the batch although no answer came,
 * and would then take the next one of equal length for its repetition and drop it. So after a failure the producer is
 * replaced by one with a new id; a retry by the caller may then store a message twice, never lose one.
 */
export class KafkaProducer implements StreamProducer {
  private producer: Producer | undefined;
  private readonly queue: Sending[] = [];
  private running: Promise<void> | undefined;
  private closed = false;

  constructor(
    private readonly config: KafkaConfig,
    private readonly onProblem: (error: unknown) => void,
    private readonly topicName: (topic: string) => string,
  ) {}

  async send(topic: string, messages: StreamMessage[]): Promise<void> {
    if (this.closed) throw streamClosed('The producer');
    const name = this.topicName(topic);
    const bytes = messages.map(bytesWithinLimit);
    if (messages.length === 0) return;
    await new Promise<void>((resolve, reject) => {
      const sending: Sending = {
        topic: name,
        messages,
        bytes,
        taken: 0,
        acknowledged: 0,
        expired: false,
        resolve,
        reject,
      };
      this.rejectAtDeadline(sending);
      this.queue.push(sending);
      this.running ??= this.drain();
    });
  }

  async close(): Promise<void> {
    this.closed = true;
    while (this.running) await this.running;
    await this.dropProducer();
  }

  private rejectAtDeadline(sending: Sending): void {
    const { resolve, reject } = sending;
    const timer = setTimeout(() => {
      sending.expired = true;
      const late = new Error(`no acknowledgement within ${this.config.sendTimeoutMs} ms`);
      reject(kafkaUnavailable(`send to ${sending.topic}`, this.config.brokers, late));
    }, this.config.sendTimeoutMs);
    sending.resolve = () => {
      clearTimeout(timer);
      resolve();
    };
    sending.reject = (error) => {
      clearTimeout(timer);
      reject(error);
    };
  }

  private async drain(): Promise<void> {
    for (;;) {
      // A send whose caller has been told of its failure is not begun any more.
      while (this.queue[0]?.expired || this.queue[0]?.taken === this.queue[0]?.messages.length) {
        if (!this.queue.shift()) break;
      }
      const first = this.queue[0];
      if (!first) break;
      await this.sendNext(this.takeRequest(first.topic));
    }
    this.running = undefined;
  }

  /** Messages of one topic from the head of the queue, in order. */
  private takeRequest(topic: string): { sending: Sending; from: number; to: number }[] {
    const parts: { sending: Sending; from: number; to: number }[] = [];
    let bytes = 0;
    for (const sending of this.queue) {
      if (sending.topic !== topic) break;
      if (sending.expired) continue;
      const from = sending.taken;
      while (sending.taken < sending.messages.length) {
        const next = sending.bytes[sending.taken]!;
        if (bytes > 0 && bytes + next > REQUEST_BYTES) break;
        bytes += next;
        sending.taken++;
      }
      if (sending.taken > from) parts.push({ sending, from, to: sending.taken });
      if (sending.taken < sending.messages.length) break;
    }
    return parts;
  }

  private async sendNext(parts: { sending: Sending; from: number; to: number }[]): Promise<void> {
    const topic = parts[0]!.sending.topic;
    try {
      this.producer ??= await this.connect();
      await this.producer.send({
        topic,
        acks: -1,
        timeout: this.config.sendTimeoutMs,
        messages: parts.flatMap(({ sending, from, to }) => sending.messages.slice(from, to).map(toKafka)),
      });
      for (const { sending, from, to } of parts) {
        sending.acknowledged += to - from;
        if (sending.acknowledged === sending.messages.length) sending.resolve();
      }
    } catch (error) {
      const problem = kafkaUnavailable(`send to ${topic}`, this.config.brokers, error);
      for (const { sending } of parts) {
        sending.expired = true;
        sending.reject(problem);
      }
      await this.dropProducer();
    }
  }

  private async connect(): Promise<Producer> {
    const retry = retriesFor(this.config.sendTimeoutMs);
    const producer = kafkaClient(this.config, this.onProblem, retry).producer({
      idempotent: true,
      maxInFlightRequests: 5,
      allowAutoTopicCreation: false,
      createPartitioner: Partitioners.DefaultPartitioner,
      retry,
    });
    await producer.connect();
    return producer;
  }

  private async dropProducer(): Promise<void> {
    const producer = this.producer;
    this.producer = undefined;
    await producer?.disconnect().catch(this.onProblem);
  }
}

function toKafka({ key, value, headers }: StreamMessage) {
  return { key, value: Buffer.from(value.buffer, value.byteOffset, value.byteLength), headers };
}

function bytesWithinLimit({ key, value, headers }: StreamMessage): number {
  let bytes = Buffer.byteLength(key) + value.byteLength;
  for (const [name, text] of Object.entries(headers)) bytes += Buffer.byteLength(name) + Buffer.byteLength(text);
  if (bytes <= MAX_MESSAGE_BYTES) return bytes;
  throw new TallybayError(
    'body_too_large',
    `A message of ${bytes} bytes for key "${key}" is over the limit of ${MAX_MESSAGE_BYTES}`,
    { advice: 'Cut it into smaller messages.' },
  );
}
