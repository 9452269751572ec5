import { Dwell, type DwellBins } from './dwell-bins.js';
import { CELL_REJECTS } from './rejects.js';

/** Shared by all sums without stages: a long log has tens of thousands of them. */
const NO_STAGES = new Float64Array(0);

/** Sums of one signal over one piece of a log. Times are milliseconds. */
export class SignalSums {
  valid = 0;
  /** By index into CELL_REJECTS. */
  readonly rejects: number[] = CELL_REJECTS.map(() => 0);
  jumps = 0;
  stuck = 0;
  stuckMs = 0;
  min = Number.POSITIVE_INFINITY;
  minAt = Number.NaN;
  max = Number.NEGATIVE_INFINITY;
  maxAt = Number.NaN;
  first = Number.NaN;
  last = Number.NaN;
  /** Held time and its integral of the value, for a signal without dwell; see `held`. */
  private ms = 0;
  private valueMs = 0;
  readonly stageMs: Float64Array;
  readonly dwell: Dwell | null;

  constructor(
    private readonly stages: Float64Array,
    bins: DwellBins | null,
  ) {
    this.stageMs = stages.length === 0 ? NO_STAGES : new Float64Array(stages.length);
    this.dwell = bins ? new Dwell(bins) : null;
  }

  /** Notes a value for the extremes. */
  see(value: number, ms: number): void {
    if (value < this.min) {
      this.min = value;
      this.minAt = ms;
    }
    if (value > this.max) {
      this.max = value;
      this.maxAt = ms;
    }
    if (Number.isNaN(this.first)) this.first = value;
  }

  /** Counts a run of equal values that ended. */
  endRun(value: number, ms: number, values: number, isStuck: boolean): void {
    this.valid += values;
    if (isStuck) {
      this.stuck += values;
      this.stuckMs += ms;
      return;
    }
    if (ms === 0) return;
    if (this.dwell !== null) this.dwell.add(value, ms);
    else {
      this.ms += ms;
      this.valueMs += value * ms;
    }
    const { stages } = this;
    for (let stage = 0; stage < stages.length; stage++) {
      if (value >= (stages[stage] as number)) this.stageMs[stage] = (this.stageMs[stage] as number) + ms;
    }
  }

  /** Milliseconds by the hold rule and their integral of the value: what the dwell bins add up to. */
  held(): { ms: number; valueMs: number } {
    let { ms, valueMs } = this;
    this.dwell?.visit((_bin, binMs, binValueMs) => {
      ms += binMs;
      valueMs += binValueMs;
    });
    return { ms, valueMs };
  }

  /** Adds what came later in the log. */
  merge(later: SignalSums): void {
    if (later.min < this.min) [this.min, this.minAt] = [later.min, later.minAt];
    if (later.max > this.max) [this.max, this.maxAt] = [later.max, later.maxAt];
    if (Number.isNaN(this.first)) this.first = later.first;
    if (!Number.isNaN(later.last)) this.last = later.last;
    this.valid += later.valid;
    this.jumps += later.jumps;
    this.stuck += later.stuck;
    this.stuckMs += later.stuckMs;
    const held: { ms: number; valueMs: number } =
      this.dwell === null ? later.held() : { ms: later.ms, valueMs: later.valueMs };
    this.ms += held.ms;
    this.valueMs += held.valueMs;
    addUp(this.rejects, later.rejects);
    addUp(this.stageMs, later.stageMs);
    if (later.dwell) this.dwell?.merge(later.dwell);
  }
}

function addUp(into: number[] | Float64Array, from: number[] | Float64Array): void {
  for (let at = 0; at < from.length; at++) into[at] = (into[at] as number) + (from[at] as number);
}

export type EngineState = 'on' | 'off' | 'unknown';

/** A stretch of rows with the engine in one state. A short stop is merged back into the drive it interrupts. */
export class Piece {
  rows = 0;
  ms = 0;
  endMs: number;
  readonly sums: SignalSums[];
  private mergedInto: Piece | null = null;

  constructor(
    public state: EngineState,
    readonly startMs: number,
    makeSums: () => SignalSums[],
  ) {
    this.endMs = startMs;
    this.sums = makeSums();
  }

  /** Keeps the sums in little room: nothing more is expected of this piece. */
  pack(): void {
    for (const { dwell } of this.sums) dwell?.pack();
  }

  /** The piece that now stands for this one. */
  get actual(): Piece {
    return this.mergedInto?.actual ?? this;
  }

  /** Takes over the rows of a later piece. Its sums follow by `mergeSums`, once its rows have been summed. */
  takeRows(later: Piece): void {
    this.rows += later.rows;
    this.ms += later.ms;
    this.endMs = later.endMs;
  }

  mergeSums(later: Piece): void {
    later.mergedInto = this;
    this.sums.forEach((sums, signal) => {
      sums.merge(later.sums[signal] as SignalSums);
    });
  }
}
