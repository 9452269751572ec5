import type { SignalRow } from '../signals/catalogue.js';
import { convert, snap } from '../units/convert.js';

/** Temperature edges cover the widest plausible range, an exhaust gas sensor's, with room to spare. */
const LOWEST_C = -60;
const HIGHEST_C = 1800;
/** Nearer than this to an edge, in steps, a product may have been rounded across it. */
const ROUNDING = 1e-6;
/** Cells of the look-up table a degree. */
const CELLS = 4;

/** Bin edges of a signal: bin `i` is [edge(i), edge(i + 1)). */
export class DwellBins {
  private readonly stepsPerUnit: number;
  /** A step that is a whole number of 1/1024: its multiples are exact, so edges need no snapping. */
  private readonly isExact: boolean;

  private constructor(
    private readonly step: number,
    private readonly edges: Float64Array | null,
    private readonly cells: Int32Array | null,
  ) {
    this.stepsPerUnit = 1 / step;
    this.isExact = Number.isInteger(step * 1024);
  }

  /** Null = the catalogue keeps no dwell for this signal. */
  static of(row: SignalRow): DwellBins | null {
    if (row.dwell === null) return null;
    return row.dwell === 'temperature' ? TEMPERATURE : new DwellBins(row.dwell, null, null);
  }

  /** Edges at every half degree Celsius and every whole degree Fahrenheit. */
  static temperature(): DwellBins {
    const found = new Set<number>();
    for (let half = LOWEST_C * 2; half <= HIGHEST_C * 2; half++) found.add(half / 2);
    const lowF = Math.ceil(convert(LOWEST_C, 'degC', 'degF'));
    const highF = Math.floor(convert(HIGHEST_C, 'degC', 'degF'));
    for (let degF = lowF; degF <= highF; degF++) found.add(convert(degF, 'degF', 'degC'));
    const edges = Float64Array.from([...found].sort((a, b) => a - b));
    const cells = new Int32Array((HIGHEST_C - LOWEST_C) * CELLS + 1);
    for (let cell = 0, bin = 0; cell < cells.length; cell++) {
      while (bin + 1 < edges.length && (edges[bin + 1] as number) <= LOWEST_C + cell / CELLS) bin++;
      cells[cell] = bin;
    }
    return new DwellBins(0, edges, cells);
  }

  edge(bin: number): number {
    return this.edges ? (this.edges[bin] as number) : snap(bin * this.step);
  }

  /** The bin that holds a value. Rounding may miss by one, so the edges themselves decide. */
  binOf(value: number): number {
    const { edges, cells } = this;
    if (edges === null || cells === null) {
      if (this.isExact) {
        const bin = Math.floor(value / this.step);
        return bin * this.step > value ? bin - 1 : bin;
      }
      const steps = value * this.stepsPerUnit;
      let bin = Math.floor(steps);
      const inside = steps - bin;
      if (inside > ROUNDING && inside < 1 - ROUNDING) return bin;
      if (snap((bin + 1) * this.step) <= value) bin++;
      else if (snap(bin * this.step) > value) bin--;
      return bin;
    }
    let bin = cells[Math.floor((value - LOWEST_C) * CELLS)] as number;
    while ((edges[bin] as number) > value) bin--;
    while ((edges[bin + 1] as number) <= value) bin++;
    return bin;
  }
}

const TEMPERATURE = DwellBins.temperature();

/** Numbers kept a bin: milliseconds, their integral of the value, lowest and highest value. */
const FIELDS = 4;
/** Bins a window grows by on a side, at least; half as much again as it has, so that growing stays rare. */
const MARGIN = 8;

const NOTHING = new Float64Array(0);

/**
 * Seconds by bin over the bins seen so far: a dense window while values come, only the bins with time in them once
 * packed. A long log has tens of thousands of these, and a window is mostly empty.
 */
export class Dwell {
  private cells = NOTHING;
  /** Bin and its fields, in order of bins; empty while the window is in use. */
  private packed = NOTHING;
  private low = 0;
  private high = 0;

  constructor(readonly bins: DwellBins) {}

  add(value: number, ms: number): void {
    const bin = this.bins.binOf(value);
    if (bin < this.low || bin >= this.high) this.grow(bin);
    const { cells } = this;
    const at = (bin - this.low) * FIELDS;
    if (cells[at] === 0) {
      cells[at + 2] = value;
      cells[at + 3] = value;
    } else if (value < (cells[at + 2] as number)) cells[at + 2] = value;
    else if (value > (cells[at + 3] as number)) cells[at + 3] = value;
    cells[at] = (cells[at] as number) + ms;
    cells[at + 1] = (cells[at + 1] as number) + value * ms;
  }

  private addTo(bin: number, ms: number, valueMs: number, min: number, max: number): void {
    if (bin < this.low || bin >= this.high) this.grow(bin);
    const { cells } = this;
    const at = (bin - this.low) * FIELDS;
    if (cells[at] === 0) {
      cells[at + 2] = min;
      cells[at + 3] = max;
    } else {
      if (min < (cells[at + 2] as number)) cells[at + 2] = min;
      if (max > (cells[at + 3] as number)) cells[at + 3] = max;
    }
    cells[at] = (cells[at] as number) + ms;
    cells[at + 1] = (cells[at + 1] as number) + valueMs;
  }

  merge(other: Dwell): void {
    other.visit((bin, ms, valueMs, min, max) => this.addTo(bin, ms, valueMs, min, max));
  }

  /** Every bin with time in it, from low to high. */
  visit(use: (bin: number, ms: number, valueMs: number, min: number, max: number) => void): void {
    const { cells, packed } = this;
    for (let at = 0; at < packed.length; at += FIELDS + 1) {
      use(
        packed[at] as number,
        packed[at + 1] as number,
        packed[at + 2] as number,
        packed[at + 3] as number,
        packed[at + 4] as number,
      );
    }
    for (let at = 0; at < cells.length; at += FIELDS) {
      const ms = cells[at] as number;
      if (ms > 0) {
        use(this.low + at / FIELDS, ms, cells[at + 1] as number, cells[at + 2] as number, cells[at + 3] as number);
      }
    }
  }

  /** Gives the window back; more time may still be added, at the cost of a new one. */
  pack(): void {
    if (this.cells.length === 0) return;
    const kept: number[] = [];
    this.visit((...entry) => kept.push(...entry));
    this.packed = Float64Array.from(kept);
    this.cells = NOTHING;
    this.low = 0;
    this.high = 0;
  }

  private unpack(): void {
    const kept = new Dwell(this.bins);
    kept.packed = this.packed;
    this.packed = NOTHING;
    this.merge(kept);
  }

  private grow(bin: number): void {
    if (this.packed.length > 0) {
      this.unpack();
      if (bin >= this.low && bin < this.high) return;
    }
    const isEmpty = this.low === this.high;
    const margin = Math.max(MARGIN, (this.high - this.low) >> 1);
    const low = isEmpty ? bin - MARGIN : bin < this.low ? bin - margin : this.low;
    const high = isEmpty ? bin + MARGIN : bin >= this.high ? bin + margin : this.high;
    const cells = new Float64Array((high - low) * FIELDS);
    cells.set(this.cells, isEmpty ? 0 : (this.low - low) * FIELDS);
    this.cells = cells;
    this.low = low;
    this.high = high;
  }
}
