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

/** A context is followed at this pace, and at every row that it is asked for: recorders may write a hundred rows a second. */
const CONTEXT_EVERY_MS = 500;

/** Limits of one column. */
interface ColumnLimits {
  column: number;
  tracks: LimitTrack[];
  /** Values between these are within every limit. */
  low: number;
  high: number;
  /** Some limit's crossing is under way. */
  open: boolean;
}

/**
 * Finds the crossings of one log while it is read. Works on the batches' own arrays and only on signals with limits, two
 * comparisons a value while all is well; the result does not depend on where batches are cut. A gap over the hold limit and
 * a step back of the clock end a crossing.
 */
export class CrossingTracker {
  private readonly found: LimitCrossing[] = [];
  private readonly limited: ColumnLimits[];
  private readonly order: Map<VehicleLimit, number>;
  private readonly context = new ContextTracker();
  private contextMs = Number.NaN;
  private readonly contextColumns: readonly number[];
  private readonly engine: EngineWatch;

  /** @param signals of the log, in the order of the columns */
  constructor(limits: readonly VehicleLimit[], signals: readonly SignalId[]) {
    const byColumn = Map.groupBy(limits, ({ signal }) => signals.indexOf(signal));
    byColumn.delete(-1);
    this.limited = [...byColumn].map(([column, own]) => ({
      ...{ column, open: false, tracks: own.map((limit) => new LimitTrack(limit, this.found)) },
      low: Math.max(...own.map(({ direction, limit }) => (direction === 'low' ? limit : Number.NEGATIVE_INFINITY))),
      high: Math.min(...own.map(({ direction, limit }) => (direction === 'high' ? limit : Number.POSITIVE_INFINITY))),
    }));
    this.order = new Map(limits.map((limit, index) => [limit, index]));
    this.contextColumns = CONTEXT_SIGNALS.map((signal) => signals.indexOf(signal));
    this.engine = new EngineWatch(signals);
  }

  /** Whether the log has any signal with a limit; without, `add` does nothing. */
  get watches(): boolean {
    return this.limited.length > 0;
  }

  add(rows: LimitRows): void {
    if (!this.watches) return;
    const columns = this.contextColumns.map((column) => (column < 0 ? null : (rows.values[column] ?? null)));
    for (let row = 0; row < rows.rowCount; row++) {
      const timeMs = rows.timeMs[row]!;
      const running = this.engine.row(timeMs, rows, row);
      if (!(timeMs - this.contextMs < CONTEXT_EVERY_MS && timeMs >= this.contextMs)) this.follow(timeMs, columns, row);
      for (const limits of this.limited) {
        const value = rows.values[limits.column]![row];
        if (value === null || value === undefined || Number.isNaN(value)) continue;
        if (!limits.open && value > limits.low && value < limits.high) continue;
        const context = () => {
          if (this.contextMs !== timeMs) this.follow(timeMs, columns, row);
          return this.context.context();
        };
        for (const track of limits.tracks) track.value(timeMs, value, running, context);
        limits.open = limits.tracks.some(({ isOpen }) => isOpen);
      }
    }
  }

  /** Ends what is open and gives the crossings by their start; of equal starts in the order of the limits. */
  finish(): LimitCrossing[] {
    for (const { tracks } of this.limited) for (const track of tracks) track.finish();
    return this.found.sort((a, b) => a.startMs - b.startMs || this.order.get(a.limit)! - this.order.get(b.limit)!);
  }

  private follow(timeMs: number, columns: readonly (ArrayLike<number | null> | null)[], row: number): void {
    this.context.row(timeMs, columns, row);
    this.contextMs = timeMs;
  }
}

/** One limit along a log. */
class LimitTrack {
  private open: LimitCrossing | null = null;
  /** Of the last value while a crossing is open; of no use otherwise. */
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

  get isOpen(): boolean {
    return this.open !== null;
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
