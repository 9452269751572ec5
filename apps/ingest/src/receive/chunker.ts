/** Before compression. Small enough that a chunk is one ordinary Kafka message, large enough that framing costs nothing. */
export const MAX_CHUNK_BYTES = 768 * 1024;

const LINE_FEED = 0x0a;
const QUOTE = 0x22;

export interface ChunkerOptions {
  /** Bytes of one code unit: 2 for UTF-16, else 1. */
  unitBytes: 1 | 2;
  /** For UTF-16: which byte of a unit holds the low half. */
  littleEndian: boolean;
  /** Whether quotes may hold line breaks (RFC 4180); raw CAN captures have none. */
  quotes: boolean;
  maxBytes?: number;
  /** Where a buffer of this many bytes comes from; a chunk is a view of one and the receiver may give it back. */
  takeBuffer?: (bytes: number) => Uint8Array;
}

/**
 * Cuts a byte stream into chunks that end with a row, each at most `maxBytes`. A row longer than that is cut where it
 * stands: the decoder carries the rest over, and rejects the row by its own limit. Concatenated, the chunks are the stream.
 */
export class Chunker {
  private buffer: Uint8Array;
  private readonly maxBytes: number;
  private length = 0;
  /** End of the last complete row in the buffer. */
  private rowEnd = 0;
  private scanned = 0;
  private inQuotes = false;

  constructor(
    private readonly options: ChunkerOptions,
    private readonly onChunk: (bytes: Uint8Array) => void,
  ) {
    this.maxBytes = options.maxBytes ?? MAX_CHUNK_BYTES;
    this.buffer = this.fresh();
  }

  push(bytes: Uint8Array): void {
    let at = 0;
    while (at < bytes.length) {
      const room = this.buffer.length - this.length;
      const count = Math.min(room, bytes.length - at);
      this.buffer.set(bytes.subarray(at, at + count), this.length);
      this.length += count;
      at += count;
      if (this.length === this.buffer.length) this.cut();
    }
  }

  finish(): void {
    if (this.length > 0) this.emit(this.length);
  }

  private cut(): void {
    this.scan();
    const { unitBytes } = this.options;
    this.emit(this.rowEnd > 0 ? this.rowEnd : this.length - (this.length % unitBytes));
  }

  private emit(end: number): void {
    const full = this.buffer;
    this.buffer = this.fresh();
    this.buffer.set(full.subarray(end, this.length));
    this.onChunk(full.subarray(0, end));
    this.length -= end;
    this.scanned = Math.max(0, this.scanned - end);
    this.rowEnd = 0;
  }

  private fresh(): Uint8Array {
    return this.options.takeBuffer?.(this.maxBytes) ?? new Uint8Array(this.maxBytes);
  }

  /** Finds the last row end. Without quotes it is the last line feed, looked for from the back. */
  private scan(): void {
    const view = Buffer.from(this.buffer.buffer, this.buffer.byteOffset, this.length);
    const quoted = this.options.quotes && (this.inQuotes || view.indexOf(QUOTE, this.scanned) >= 0);
    if (quoted) this.scanQuoted(view);
    else {
      this.rowEnd = this.lastRowEnd(view);
      this.scanned = this.length;
    }
  }

  private lastRowEnd(view: Buffer): number {
    const { unitBytes } = this.options;
    for (let at = view.lastIndexOf(LINE_FEED); at >= 0; at = at === 0 ? -1 : view.lastIndexOf(LINE_FEED, at - 1)) {
      if (unitBytes === 1) return at + 1;
      const start = at - (at % 2);
      if (start + 2 <= this.length && this.unitAt(view, start) === LINE_FEED) return start + 2;
    }
    return 0;
  }

  private scanQuoted(view: Buffer): void {
    const { unitBytes } = this.options;
    let at = this.scanned - (this.scanned % unitBytes);
    for (; at + unitBytes <= this.length; at += unitBytes) {
      const unit = unitBytes === 1 ? view[at]! : this.unitAt(view, at);
      if (unit === QUOTE) this.inQuotes = !this.inQuotes;
      else if (unit === LINE_FEED && !this.inQuotes) this.rowEnd = at + unitBytes;
    }
    this.scanned = at;
    // A stray quote would otherwise glue the rest of the log together; the decoder deals with it the same way.
    if (this.rowEnd === 0) this.inQuotes = false;
  }

  private unitAt(view: Buffer, at: number): number {
    return this.options.littleEndian ? view[at]! | (view[at + 1]! << 8) : (view[at]! << 8) | view[at + 1]!;
  }
}
