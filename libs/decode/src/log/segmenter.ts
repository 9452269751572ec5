import { type EngineState, Piece, type SignalSums } from './piece.js';

/**
 * Whether the engine runs, by engine speed; between the two limits the state stays. A stop shorter than `mergeMs` (stop
 * and start at a light, a stall) does not end a drive. Without engine speed, vehicle speed stands in, with a longer
 * stop. A starter turns an engine at 150 to 250 rpm, the slowest idles at 500. Common practice, no source.
 */
export const ENGINE_RULES = {
  rpm: { on: 400, off: 200, mergeMs: 60_000, lively: 150 },
  speed: { on: 1, off: 0.5, mergeMs: 300_000, lively: 10 },
} as const;

/** A step in time over this ends a segment whatever the engine does. */
export const SEGMENT_GAP_MS = 300_000;
/** The engine counts as working for this long after its speed last moved by `lively`. */
const LIVELY_MS = 60_000;

/** Rows [from, to) of a batch that belong to one piece. */
export interface PieceRange {
  from: number;
  to: number;
  piece: Piece;
  /** The piece begins behind a gap: nothing carries over into it. */
  isFresh: boolean;
  /** A short stop that ends here: its sums go into `piece` before these rows. */
  stop: Piece | null;
}

/** Cuts rows into pieces by the state of the engine, and counts steps. Row by row, so batches do not matter. */
export class Segmenter {
  readonly pieces: Piece[] = [];
  firstMs = Number.NaN;
  lastMs = Number.NaN;
  gaps = 0;
  longestGapMs = 0;
  backwardSteps = 0;
  duplicateTimes = 0;
  countedMs = 0;
  /** Per row of the batch: milliseconds so far in which the engine worked. */
  readonly workMs: Float64Array;
  /** Per row of the batch: the step from the row before if it counts, else 0. */
  readonly stepMs: Float64Array;
  hasEngineState = false;
  private work = 0;
  private state: EngineState = 'unknown';
  private current: Piece | null = null;
  private drive: Piece | null = null;
  private endedStop: Piece | null = null;
  private reference = Number.NaN;
  private livelyUntilMs = Number.NEGATIVE_INFINITY;
  private packedPieces = 0;

  constructor(
    private readonly rule: (typeof ENGINE_RULES)[keyof typeof ENGINE_RULES] | null,
    private readonly holdMs: number,
    private readonly makeSums: () => SignalSums[],
    batchRows: number,
  ) {
    this.workMs = new Float64Array(batchRows);
    this.stepMs = new Float64Array(batchRows);
  }

  /** `activity`: engine speed, or vehicle speed in its place; null = neither is in the log. */
  cut(timeMs: Float64Array, activity: Float64Array | null, rowCount: number): PieceRange[] {
    const ranges: PieceRange[] = [];
    for (let row = 0; row < rowCount; row++) {
      const ms = timeMs[row] as number;
      const dt = ms - this.lastMs;
      this.stepMs[row] = dt > 0 && dt <= this.holdMs ? dt : 0;
      const isFresh = this.step(ms);
      if (activity) this.watch(activity[row] as number, ms);
      this.workMs[row] = this.work;
      const piece = this.place(ms, isFresh);
      piece.rows++;
      piece.endMs = ms;
      const range = ranges[ranges.length - 1];
      if (range && range.piece === piece && !isFresh) range.to = row + 1;
      else ranges.push({ from: row, to: row + 1, piece, isFresh, stop: this.endedStop });
      this.endedStop = null;
      this.lastMs = ms;
    }
    return ranges;
  }

  /** Packs the pieces before the current drive: nothing is merged into them any more. Between batches only. */
  packOld(): void {
    const last = this.drive === null ? this.pieces.length - 1 : this.pieces.lastIndexOf(this.drive);
    for (; this.packedPieces < last; this.packedPieces++) this.pieces[this.packedPieces]?.pack();
  }

  /** Counts the step from the row before; true = the row begins a segment by itself. */
  private step(ms: number): boolean {
    if (this.current === null) {
      this.firstMs = ms;
      return true;
    }
    const dt = ms - this.lastMs;
    if (dt > 0 && dt <= this.holdMs) {
      this.countedMs += dt;
      this.current.ms += dt;
      if (this.state === 'on' && this.lastMs < this.livelyUntilMs) this.work += dt;
    } else if (dt > this.holdMs) {
      this.gaps++;
      if (dt > this.longestGapMs) this.longestGapMs = dt;
    } else if (dt < 0) this.backwardSteps++;
    else this.duplicateTimes++;
    return Math.abs(dt) > SEGMENT_GAP_MS;
  }

  private watch(value: number, ms: number): void {
    if (Number.isNaN(value) || !this.rule) return;
    this.hasEngineState = true;
    if (value >= this.rule.on) this.state = 'on';
    else if (value <= this.rule.off) this.state = 'off';
    else if (this.state === 'unknown') this.state = 'off';
    if (!(Math.abs(value - this.reference) < this.rule.lively)) {
      this.reference = value;
      this.livelyUntilMs = ms + LIVELY_MS;
    }
  }

  private place(ms: number, isFresh: boolean): Piece {
    const { current } = this;
    if (current === null || isFresh) {
      this.drive = null;
      return this.begin(this.state, ms);
    }
    if (current.state === this.state) return current;
    if (current.state === 'unknown') {
      // Rows before the first engine speed belong to what it then says.
      current.state = this.state;
      if (this.state === 'on') this.drive = current;
      return current;
    }
    const { drive } = this;
    if (this.state === 'on' && drive !== null && this.rule && ms - current.startMs < this.rule.mergeMs) {
      drive.takeRows(current);
      this.endedStop = current;
      this.pieces.pop();
      this.current = drive;
      return drive;
    }
    return this.begin(this.state, ms);
  }

  private begin(state: EngineState, ms: number): Piece {
    const piece = new Piece(state, ms, this.makeSums);
    this.pieces.push(piece);
    this.current = piece;
    if (state === 'on') this.drive = piece;
    return piece;
  }
}
