import type { BatchBuilder } from './batch-builder.js';
import type { LogPlan } from './types.js';

const QUOTE = 34;

/** Where the text cells of the row being read stand: bytes [start, end), quotes not counted. */
export interface CellPlaces {
  starts: Int32Array;
  ends: Int32Array;
}

/**
 * Marker and unmapped columns: reported only when a cell differs from the row before, so their bytes are compared before
 * any text is made.
 */
export class TextCells {
  private readonly decoder: TextDecoder;
  private readonly columns: { channel: number; isMarker: boolean; last: Uint8Array; length: number }[];

  constructor(plan: LogPlan, encoding: string) {
    this.decoder = new TextDecoder(encoding);
    this.columns = plan.channels.flatMap(({ role }, channel) =>
      role === 'marker' || role === 'unmapped'
        ? [{ channel, isMarker: role === 'marker', last: new Uint8Array(16), length: 0 }]
        : [],
    );
  }

  /** Adds what changed in an accepted row to the batch. */
  report(
    bytes: Uint8Array,
    { starts, ends }: CellPlaces,
    at: { row: number; timeMs: number },
    batch: BatchBuilder,
  ): void {
    for (const column of this.columns) {
      const start = starts[column.channel] as number;
      const length = (ends[column.channel] as number) - start;
      if (length === column.length && same(bytes, start, column.last, length)) continue;
      if (length > column.last.length) column.last = new Uint8Array(length * 2);
      column.last.set(bytes.subarray(start, start + length));
      column.length = length;
      const text = this.text(bytes, start, start + length);
      if (!column.isMarker) batch.unmapped.push({ ...at, channel: column.channel, text });
      else if (text.trim() !== '') batch.markers.push({ ...at, text: text.trim() });
    }
  }

  /** The bytes as text; a doubled quote is one. */
  text(bytes: Uint8Array, start: number, end: number): string {
    const text = this.decoder.decode(bytes.subarray(start, end));
    return bytes.subarray(start, end).includes(QUOTE) ? text.replaceAll('""', '"') : text;
  }
}

function same(bytes: Uint8Array, start: number, last: Uint8Array, length: number): boolean {
  for (let at = 0; at < length; at++) {
    if (bytes[start + at] !== last[at]) return false;
  }
  return true;
}
