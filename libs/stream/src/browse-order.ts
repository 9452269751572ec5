import type { ReceivedMessage } from './port.js';

/** The newest `limit` messages of several partitions, newest last; within a partition always in offset order. */
export function newestLast(messages: ReceivedMessage[], limit: number): ReceivedMessage[] {
  return messages
    .toSorted((a, b) => {
      if (a.partition === b.partition) return a.offset < b.offset ? -1 : 1;
      return a.timestampMs - b.timestampMs || a.partition - b.partition;
    })
    .slice(-limit);
}
