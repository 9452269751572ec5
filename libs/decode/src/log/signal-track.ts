import type { SignalRow } from '../signals/catalogue.js';
import type { Piece, SignalSums } from './piece.js';
import type { PieceRange, Segmenter } from './segmenter.js';

/** Per row of the batch, from the segmenter. */
type RowFigures = Pick<Segmenter, 'workMs' | 'stepMs'>;

/** Values that must agree before a level reached by a jump is believed. */
const CONFIRMATIONS = 3;
/** Samples may come faster than a sensor refreshes, so no step is held to less than a second's worth. */
const JUMP_FLOOR_MS = 1000;

interface RunPart {
  piece: Piece;
  ms: number;
  values: number;
}

/**
 * One signal along the log. Time is counted in runs of equal values, so a value that does not change costs a comparison.
 * A run is judged as a whole when it ends: past the stuck limit none of it counts.
 */
export class SignalTrack {
  private readonly jumpPerMs: number;
  private readonly stuckMs: number;
  private value = Number.NaN;
  private atMs = Number.NaN;
  private piece: Piece | null = null;
  private runMs = 0;
  private runValues = 0;
  /** Engine work at the start of the run, and at its last value. */
  private workAtStart = 0;
  private workAtEnd = 0;
  /** The parts of the run in earlier pieces. */
  private parts: RunPart[] = [];
  private candidate = Number.NaN;
  private candidateMs = Number.NaN;
  private candidates = 0;

  constructor(
    private readonly index: number,
    row: SignalRow,
    private readonly holdMs: number,
  ) {
    this.jumpPerMs = row.jumpPerSecond === null ? Number.POSITIVE_INFINITY : row.jumpPerSecond / 1000;
    this.stuckMs = row.stuckSeconds === null ? Number.POSITIVE_INFINITY : row.stuckSeconds * 1000;
  }

  /** Rows of a batch, all in one piece. */
  run(values: Float64Array, times: Float64Array, rows: RowFigures, range: PieceRange): void {
    if (range.isFresh) this.endRun();
    if (this.jumpPerMs === Number.POSITIVE_INFINITY) this.runFree(values, times, rows, range);
    else this.runGuarded(values, times, rows.workMs, range);
    const sums = range.piece.sums[this.index] as SignalSums;
    if (this.piece === range.piece) sums.last = this.value;
  }

  /**
   * A signal that may change at any rate. Where the row before had a value as well, its step is the batch's own, so that
   * the loop touches no times.
   */
  private runFree(
    values: Float64Array,
    times: Float64Array,
    { workMs, stepMs }: RowFigures,
    { from, to, piece }: PieceRange,
  ): void {
    const { holdMs, stuckMs } = this;
    const sums = piece.sums[this.index] as SignalSums;
    let { value: last, atMs, runMs, runValues, workAtStart } = this;
    let isPlain = this.isPlain(piece);
    let lastRow = -1;
    for (let row = from; row < to; row++) {
      const value = values[row] as number;
      if (Number.isNaN(value)) continue;
      if (!isPlain) {
        this.keep(last, atMs, runMs, runValues);
        this.workAtStart = workAtStart;
        this.enter(value, times[row] as number, workMs[row] as number, piece);
        ({ value: last, atMs, runMs, runValues, workAtStart } = this);
        isPlain = this.isPlain(piece);
        lastRow = row;
        continue;
      }
      if (lastRow >= 0 && lastRow === row - 1) runMs += stepMs[row] as number;
      else {
        const dt = (times[row] as number) - (lastRow >= 0 ? (times[lastRow] as number) : atMs);
        if (dt > 0 && dt <= holdMs) runMs += dt;
      }
      if (value !== last) {
        const worked = workMs[row] as number;
        if (this.parts.length > 0) this.endLongRun(runMs, runValues, workAtStart, worked);
        else sums.endRun(last, runMs, runValues, worked - workAtStart > stuckMs);
        if (value < sums.min || value > sums.max) sums.see(value, times[row] as number);
        last = value;
        runMs = 0;
        runValues = 0;
        workAtStart = worked;
      }
      runValues++;
      lastRow = row;
    }
    if (lastRow >= 0) {
      atMs = times[lastRow] as number;
      this.workAtEnd = workMs[lastRow] as number;
    }
    this.keep(last, atMs, runMs, runValues);
    this.workAtStart = workAtStart;
  }

  /**
   * A signal with a jump limit. The loop handles the two common cases, the same value again and a believable new
   * one, without a call; `enter` takes the first value in a piece and everything near a jump.
   */
  private runGuarded(
    values: Float64Array,
    times: Float64Array,
    work: Float64Array,
    { from, to, piece }: PieceRange,
  ): void {
    const { holdMs, jumpPerMs, stuckMs } = this;
    const sums = piece.sums[this.index] as SignalSums;
    let { value: last, atMs, runMs, runValues, workAtStart } = this;
    let isPlain = this.isPlain(piece);
    let lastRow = -1;
    for (let row = from; row < to; row++) {
      const value = values[row] as number;
      if (Number.isNaN(value)) continue;
      const ms = times[row] as number;
      const dt = ms - atMs;
      if (isPlain && (value === last || Math.abs(value - last) <= jumpPerMs * Math.max(dt, JUMP_FLOOR_MS))) {
        if (dt > 0 && dt <= holdMs) runMs += dt;
        if (value !== last) {
          const worked = work[row] as number;
          if (this.parts.length > 0) this.endLongRun(runMs, runValues, workAtStart, worked);
          else sums.endRun(last, runMs, runValues, worked - workAtStart > stuckMs);
          if (value < sums.min || value > sums.max) sums.see(value, ms);
          last = value;
          runMs = 0;
          runValues = 0;
          workAtStart = worked;
        }
        atMs = ms;
        runValues++;
        lastRow = row;
      } else {
        this.keep(last, atMs, runMs, runValues);
        this.workAtStart = workAtStart;
        if (lastRow >= 0) this.workAtEnd = work[lastRow] as number;
        this.enter(value, ms, work[row] as number, piece);
        ({ value: last, atMs, runMs, runValues, workAtStart } = this);
        isPlain = this.isPlain(piece);
        lastRow = -1;
      }
    }
    this.keep(last, atMs, runMs, runValues);
    this.workAtStart = workAtStart;
    if (lastRow >= 0) this.workAtEnd = work[lastRow] as number;
  }

  /** Ends a run that began in an earlier piece, from the state that a loop holds in its own variables. */
  private endLongRun(runMs: number, runValues: number, workAtStart: number, worked: number): void {
    this.runMs = runMs;
    this.runValues = runValues;
    this.workAtStart = workAtStart;
    this.workAtEnd = worked;
    this.endRun();
  }

  private isPlain(piece: Piece): boolean {
    return this.piece === piece && this.candidates === 0;
  }

  private keep(value: number, atMs: number, runMs: number, runValues: number): void {
    this.value = value;
    this.atMs = atMs;
    this.runMs = runMs;
    this.runValues = runValues;
  }

  /** Takes a value that differs from the last one, or is the first in its piece. */
  private enter(value: number, ms: number, work: number, piece: Piece): void {
    const dt = ms - this.atMs;
    if (this.piece !== null && this.isJump(value, ms, dt)) {
      (piece.sums[this.index] as SignalSums).jumps++;
      return;
    }
    this.candidates = 0;
    if (dt > 0 && dt <= this.holdMs) this.runMs += dt;
    this.workAtEnd = work;
    if (value !== this.value) {
      this.endRun();
      this.value = value;
      this.workAtStart = work;
      this.workAtEnd = work;
    } else if (this.piece !== piece && this.piece !== null) {
      this.parts.push({ piece: this.piece, ms: this.runMs, values: this.runValues });
      this.runMs = 0;
      this.runValues = 0;
    }
    this.piece = piece;
    this.atMs = ms;
    this.runValues++;
    const sums = piece.sums[this.index] as SignalSums;
    sums.see(value, ms);
    sums.last = value;
  }

  /** Whether a value left the last one faster than physics allows and is not confirmed yet. */
  private isJump(value: number, ms: number, dt: number): boolean {
    if (this.isNear(value - this.value, dt)) return false;
    const agrees = this.candidates > 0 && this.isNear(value - this.candidate, ms - this.candidateMs);
    this.candidates = agrees ? this.candidates + 1 : 1;
    this.candidate = value;
    this.candidateMs = ms;
    return this.candidates < CONFIRMATIONS;
  }

  private isNear(difference: number, dt: number): boolean {
    return Math.abs(difference) <= this.jumpPerMs * Math.max(dt, JUMP_FLOOR_MS);
  }

  /** Ends the run: counts its time where it was spent, or as stuck. Called at the end of the log as well. */
  endRun(): void {
    if (this.piece === null) return;
    const isStuck = this.workAtEnd - this.workAtStart > this.stuckMs;
    for (const part of this.parts) this.credit(part, isStuck);
    this.credit({ piece: this.piece, ms: this.runMs, values: this.runValues }, isStuck);
    if (this.parts.length > 0) this.parts = [];
    this.runMs = 0;
    this.runValues = 0;
    this.workAtStart = this.workAtEnd;
  }

  private credit({ piece, ms, values }: RunPart, isStuck: boolean): void {
    (piece.actual.sums[this.index] as SignalSums).endRun(this.value, ms, values, isStuck);
  }
}
