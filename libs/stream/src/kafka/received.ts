import type { IHeaders, KafkaMessage } from 'kafkajs';
import type { ReceivedMessage } from '../port.js';

const EMPTY = new Uint8Array(0);

/** A record as kafkajs gives it, in the port's shape; the value is not copied. */
export function receivedFrom(message: KafkaMessage, place: { topic: string; partition: number }): ReceivedMessage {
  return {
    ...place,
    offset: BigInt(message.offset),
    timestampMs: Number(message.timestamp),
    key: message.key?.toString() ?? '',
    value: message.value ?? EMPTY,
    headers: headersFrom(message.headers ?? {}),
  };
}

/** Repeated headers, which nothing of ours writes, keep their last value. */
function headersFrom(headers: IHeaders): Record<string, string> {
  const texts: Record<string, string> = {};
  for (const [name, value] of Object.entries(headers)) {
    const last = Array.isArray(value) ? value.at(-1) : value;
    if (last !== undefined) texts[name] = last.toString();
  }
  return texts;
}
