import type { StreamEvent } from '@tallybay/contracts';
import type { StreamMessage } from './port.js';

/** An event as a message; its key keeps one vehicle's or one week's events in order. */
export function eventMessage(event: StreamEvent): StreamMessage {
  const key = 'vehicleId' in event ? event.vehicleId : event.week;
  return { key, value: Buffer.from(JSON.stringify(event)), headers: { kind: event.kind } };
}
