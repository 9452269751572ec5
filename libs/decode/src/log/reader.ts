import { CSV_LIMITS } from '../csv/limits.js';
import { RowLoop } from './row-loop.js';
import type { LogPlan, LogReader, ReadCounts, ReadLimits, SampleBatch } from './types.js';

const LF = 10;
const CR = 13;

/**
 * A reader of one log, from its first byte on. Rows come out in file order as batches; what was left out is counted.
 * The same rows come out however the bytes are cut. `sink` must copy what it keeps: the batch is reused.
 * @throws RangeError for a plan whose format is not csv, or that names an unknown time format, zone or signal.
 */
export function createLogReader(plan: LogPlan, sink: (batch: SampleBatch) => void, limits: ReadLimits = {}): LogReader {
  if (plan.format !== 'csv' || !plan.dialect)
    throw new RangeError(`A plan of format "${plan.format}" is not read as rows of cells.`);
  return new CsvReader(plan, sink, limits);
}

class CsvReader implements LogReader {
  private readonly loop: RowLoop;
  private readonly lineBreak: number;
  private readonly decoder: TextDecoder | null;
  private readonly encoder = new TextEncoder();
  private bomLeft: number;
  private linesLeft: number;
  private headCr = false;
  private carry = new Uint8Array(4096);
  private carried = 0;
  /** Inside a line that is over the limit of one row; it was counted already. */
  private isSkipping = false;

  constructor(plan: LogPlan, sink: (batch: SampleBatch) => void, limits: ReadLimits) {
    const dialect = plan.dialect as NonNullable<LogPlan['dialect']>;
    const isWide = dialect.encoding === 'utf-16le' || dialect.encoding === 'utf-16be';
    this.decoder = isWide ? new TextDecoder(dialect.encoding, { ignoreBOM: true }) : null;
    this.loop = new RowLoop(plan, isWide ? 'utf-8' : dialect.encoding, sink, limits);
    this.lineBreak = dialect.lineBreak === 'cr' ? CR : LF;
    this.bomLeft = dialect.bomBytes;
    const last = dialect.unitLine ?? dialect.headerLine;
    this.linesLeft = last + breaksIn(dialect.unitLine === null ? dialect.headerText : (dialect.unitText ?? ''));
  }

  push(bytes: Uint8Array): void {
    let rest = bytes;
    if (this.bomLeft > 0) {
      const cut = Math.min(this.bomLeft, rest.length);
      this.bomLeft -= cut;
      rest = rest.subarray(cut);
    }
    if (this.decoder) rest = this.encoder.encode(this.decoder.decode(rest, { stream: true }));
    this.consume(this.skipHead(rest));
  }

  flush(): void {
    this.loop.batch.flush();
  }

  finish(): ReadCounts {
    if (this.decoder) this.consume(this.skipHead(this.encoder.encode(this.decoder.decode())));
    if (this.carried > 0) {
      this.append(Uint8Array.of(LF));
      let at = 0;
      while (at < this.carried) at = this.loop.run(this.carry, at, this.carried, true);
      this.carried = 0;
    }
    this.loop.batch.flush();
    return this.loop.counts;
  }

  /** Drops the lines up to the header and its unit row. */
  private skipHead(bytes: Uint8Array): Uint8Array {
    let at = 0;
    while (this.linesLeft > 0 && at < bytes.length) {
      const byte = bytes[at++];
      // CRLF is one break: the LF behind a CR was counted with it.
      if (byte === CR || (byte === LF && !this.headCr)) this.linesLeft--;
      this.headCr = byte === CR;
    }
    return at === 0 ? bytes : bytes.subarray(at);
  }

  private consume(bytes: Uint8Array): void {
    let from = 0;
    if (this.isSkipping) {
      from = bytes.indexOf(this.lineBreak) + 1;
      if (from === 0) return;
      this.isSkipping = false;
    }
    while (this.carried > 0) {
      const end = bytes.indexOf(this.lineBreak, from) + 1;
      if (end === 0) break;
      this.append(bytes.subarray(from, end));
      from = end;
      const used = this.loop.run(this.carry, 0, this.carried);
      this.carry.copyWithin(0, used, this.carried);
      this.carried -= used;
    }
    if (this.carried === 0) {
      const end = bytes.lastIndexOf(this.lineBreak) + 1;
      if (end > from) from = this.loop.run(bytes, from, end);
    }
    this.append(bytes.subarray(from));
    if (this.carried >= CSV_LIMITS.maxRowBytes) this.dropLongRow();
  }

  private dropLongRow(): void {
    this.loop.reject('row_too_long');
    this.carried = 0;
    this.isSkipping = true;
  }

  private append(bytes: Uint8Array): void {
    const length = this.carried + bytes.length;
    if (length > this.carry.length) {
      const wider = new Uint8Array(Math.max(length, this.carry.length * 2));
      wider.set(this.carry.subarray(0, this.carried));
      this.carry = wider;
    }
    this.carry.set(bytes, this.carried);
    this.carried = length;
  }
}

function breaksIn(text: string): number {
  return text.split(/\r\n|\r|\n/).length - 1;
}
