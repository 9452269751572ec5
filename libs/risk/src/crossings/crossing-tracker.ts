import { DEFAULT_HOLD_SECONDS, type SignalId } from '@tallybay/decode';
import { CONTEXT_SIGNALS, ContextTracker, type PeakContext } from '../context/context-tracker.js';
import { EngineWatch } from './engine-watch.js';
import type { VehicleLimit } from './limits.js';

/** One stretch beyond a limit. Instants are epoch ms, values in the signal's canonical unit. */
export interface LimitCrossing {
  limit: VehicleLimit;
  startMs: number;
  /** Back past the hysteresis, or the last instant that a value beyond it held. */
  endMs: number;
  /** Seconds beyond the limit by the hold rule. */
  seconds: number;
  worst: number;
  worstAtMs: number;
  context: PeakContext;
}

/** Rows column-wise, as a decoder hands them out; NaN or null where a row has no value. */
export interface LimitRows {
  rowCount: number;
  timeMs: ArrayLike<number>;
  values: readonly ArrayLike<number | null>[];
}

/**
 * Finds the crossings of one log while it is read. Works on the batches' own arrays and only on signals with limits; the
 * result does not depend on where batches are cut. A gap over the hold limit and a step back of the clock end a crossing.
 */
export class CrossingTracker {
  private readonly found: LimitCrossing[] = [];
  private readonly tracks: { column: number; track: LimitTrack }[];
  private readonly context = new ContextTracker();
  private readonly contextColumns: readonly number[];
  private readonly engine: EngineWatch;

  /** @param signals of the log, in the order of the columns */
  constructor(limits: readonly VehicleLimit[], signals: readonly SignalId[]) {
    this.tracks = limits
      .map((limit) => ({ column: signals.indexOf(limit.signal), track: new LimitTrack(limit, this.found) }))
      .filter(({ column }) => column >= 0);
    this.contextColumns = CONTEXT_SIGNALS.map((signal) => signals.indexOf(signal));
    this.engine = new EngineWatch(signals);
  }

  /** Whether the log has any signal with a limit; without, `add` does nothing. */
  get watches(): boolean {
    return this.tracks.length > 0;
  }

  add(rows: LimitRows): void {
    if (!this.watches) return;
    const columns = this.contextColumns.map((column) => (column < 0 ? null : (rows.values[column] ?? null)));
    const context = () => this.context.context();
    for (let row = 0; row < rows.rowCount; row++) {
      const timeMs = rows.timeMs[row]!;
      const running = this.engine.row(timeMs, rows, row);
      this.context.row(timeMs, columns, row);
      for (const { column, track } of this.tracks) {
        const value = rows.values[column]![row];
        if (value !== null && value !== undefined && !Number.isNaN(value)) track.value(timeMs, value, running, context);
      }
    }
  }

  /** Ends what is open and gives the crossings by their start; of equal starts in the order of the limits. */
  finish(): LimitCrossing[] {
    for (const { track } of this.tracks) track.finish();
    const order = new Map(this.tracks.map(({ track }, index) => [track.limit, index]));
    return this.found.sort((a, b) => a.startMs - b.startMs || order.get(a.limit)! - order.get(b.limit)!);
  }
}

/** One limit along a log. */
class LimitTrack {
  private open: LimitCrossing | null = null;
  private lastMs = Number.NaN;
  private last = Number.NaN;
  /** +1 for a high limit, -1 for a low one. */
  private readonly sign: number;

  constructor(
    readonly limit: VehicleLimit,
    private readonly found: LimitCrossing[],
  ) {
    this.sign = limit.direction === 'high' ? 1 : -1;
  }

  value(timeMs: number, value: number, running: boolean, context: () => PeakContext): void {
    const beyond = this.sign * (value - this.limit.limit);
    const counts = running || this.limit.during === 'always';
    if (this.open) this.hold(timeMs);
    if (this.open && (beyond < -this.limit.hysteresis || !counts)) this.close(timeMs);
    if (counts && beyond >= 0) {
      if (!this.open)
        this.open = {
          ...{ limit: this.limit, startMs: timeMs, endMs: timeMs, seconds: 0, worst: value, worstAtMs: timeMs },
          context: context(),
        };
      else if (this.sign * (value - this.open.worst) > 0)
        Object.assign(this.open, { worst: value, worstAtMs: timeMs, context: context() });
    }
    this.lastMs = timeMs;
    this.last = value;
  }

  finish(): void {
    if (this.open) this.close(this.open.endMs);
  }

  /** Counts the step from the last value to now, or ends the crossing where the value held last. */
  private hold(timeMs: number): void {
    const seconds = (timeMs - this.lastMs) / 1000;
    if (seconds < 0 || seconds > DEFAULT_HOLD_SECONDS) {
      this.close(this.lastMs);
      return;
    }
    this.open!.endMs = timeMs;
    if (this.sign * (this.last - this.limit.limit) >= 0) this.open!.seconds += seconds;
  }

  private close(endMs: number): void {
    if (this.open && this.open.seconds >= this.limit.minSeconds) this.found.push({ ...this.open, endMs });
    this.open = null;
  }
}
