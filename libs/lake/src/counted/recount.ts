import type { Interval } from '@tallybay/risk';

/** A bin of dwell that the whole drive has; edges as the lake keeps them. */
export interface BinEdges {
  low: number;
  high: number;
}

export interface RecountedBin extends BinEdges {
  seconds: number;
  valueSeconds: number;
  min: number;
  max: number;
}

/** Figures of one signal over the parts of a drive that count. */
export interface RecountedSignal {
  seconds: number;
  valueSeconds: number;
  valid: number;
  first: number | null;
  last: number | null;
  min: number | null;
  max: number | null;
  /** Only bins with time in them. */
  bins: RecountedBin[];
}

export interface SampledSignal {
  timeMs: readonly number[];
  /** Single precision, as the lake keeps samples; null where the row has none. */
  values: readonly (number | null)[];
  /** In order; null for a signal without dwell. */
  bins: readonly BinEdges[] | null;
}

/**
 * Counts one signal again by the hold rule, of each step only what lies within `parts` (sorted, disjoint). A value in none
 * of the drive's bins was not believed when the log was decoded (a jump, a stuck sensor), and is not here.
 */
export function recountSignal(signal: SampledSignal, parts: readonly Interval[], holdMs: number): RecountedSignal {
  const { timeMs, values } = signal;
  const bins = signal.bins?.map((edges) => ({ ...edges, seconds: 0, valueSeconds: 0, min: Infinity, max: -Infinity }));
  const found: RecountedSignal = {
    ...{ seconds: 0, valueSeconds: 0, valid: 0, first: null, last: null, min: null, max: null },
    bins: [],
  };
  const clock = new PartClock(parts);
  let held: { atMs: number; value: number; bin: RecountedBin | null } | null = null;
  for (let row = 0; row < timeMs.length; row++) {
    const value = values[row];
    if (value === null || value === undefined) continue;
    const bin = bins ? binOf(bins, value) : null;
    if (bins && !bin) continue;
    const atMs = timeMs[row]!;
    if (held && atMs > held.atMs && atMs - held.atMs <= holdMs) hold(found, held, clock.secondsIn(held.atMs, atMs));
    if (clock.contains(atMs)) see(found, bin ? within(value, bin) : value);
    held = { atMs, value: bin ? within(value, bin) : value, bin };
  }
  found.bins = (bins ?? []).filter(({ seconds }) => seconds > 0);
  return found;
}

/** Seconds of steps within the hold limit, as far as they lie within `parts`. */
export function recountTime(timeMs: readonly number[], parts: readonly Interval[], holdMs: number): number {
  const clock = new PartClock(parts);
  let seconds = 0;
  for (let row = 1; row < timeMs.length; row++) {
    const [before, at] = [timeMs[row - 1]!, timeMs[row]!];
    if (at > before && at - before <= holdMs) seconds += clock.secondsIn(before, at);
  }
  return seconds;
}

function hold(found: RecountedSignal, held: { value: number; bin: RecountedBin | null }, seconds: number): void {
  if (seconds === 0) return;
  found.seconds += seconds;
  found.valueSeconds += held.value * seconds;
  if (!held.bin) return;
  held.bin.seconds += seconds;
  held.bin.valueSeconds += held.value * seconds;
  held.bin.min = Math.min(held.bin.min, held.value);
  held.bin.max = Math.max(held.bin.max, held.value);
}

function see(found: RecountedSignal, value: number): void {
  found.valid++;
  found.first ??= value;
  found.last = value;
  found.min = Math.min(found.min ?? value, value);
  found.max = Math.max(found.max ?? value, value);
}

/** A sample is a rounded value: it is compared with rounded edges, and then kept between the exact ones. */
function binOf(bins: readonly RecountedBin[], value: number): RecountedBin | null {
  let low = 0;
  let high = bins.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (Math.fround(bins[middle]!.low) <= value) low = middle + 1;
    else high = middle;
  }
  const bin = bins[low - 1];
  return bin && value <= Math.fround(bin.high) ? bin : null;
}

const within = (value: number, bin: BinEdges): number => Math.min(Math.max(value, bin.low), bin.high);

/** Asked for steps in order of time, mostly; a step back begins from the first part again. */
class PartClock {
  private at = 0;

  constructor(private readonly parts: readonly Interval[]) {}

  secondsIn(fromMs: number, toMs: number): number {
    this.seek(fromMs);
    let ms = 0;
    for (let part = this.at; part < this.parts.length && this.parts[part]!.fromMs < toMs; part++)
      ms += Math.max(0, Math.min(toMs, this.parts[part]!.toMs) - Math.max(fromMs, this.parts[part]!.fromMs));
    return ms / 1000;
  }

  contains(ms: number): boolean {
    this.seek(ms);
    const part = this.parts[this.at];
    return part !== undefined && ms >= part.fromMs && ms <= part.toMs;
  }

  private seek(ms: number): void {
    if (this.at > 0 && this.parts[this.at - 1]!.toMs >= ms) this.at = 0;
    while (this.at < this.parts.length && this.parts[this.at]!.toMs < ms) this.at++;
  }
}
