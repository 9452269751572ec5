import type { SignalId } from '@tallybay/decode';

/** What is told beside a worst value: as recorded, and two figures of the minutes before it. */
export const CONTEXT_SIGNALS = [
  'vehicle_speed_kmh',
  'engine_load_pct',
  'engine_speed_rpm',
  'ambient_temp_c',
  'grade_pct',
  'altitude_m',
  'barometric_pressure_kpa',
] as const satisfies readonly SignalId[];
export type ContextSignal = (typeof CONTEXT_SIGNALS)[number];

/** Keys of a context beside the signals recorded, for tables and labels. */
export const CONTEXT_KEYS = [
  'vehicle_speed_kmh',
  'engine_load_pct',
  'engine_speed_rpm',
  'ambient_temp_c',
  'grade_pct',
  'load_2min_pct',
] as const;
export type PeakContext = Record<(typeof CONTEXT_KEYS)[number], number | null>;

const HOLD_MS = 5000;
/** Air does not change faster than slow recorders ask for it. */
const AMBIENT_HOLD_MS = 120_000;
const LOAD_SPAN_S = 120;
/** A road's grade by altitude needs some way; by air pressure, which many recorders round to 1 kPa (84 m), much more. Judgement, no source. */
const ALTITUDE_GRADE = { leastM: 300, longestS: 120 };
const PRESSURE_GRADE = { leastM: 3000, longestS: 300 };
/** R·T/(M·g) at 15 °C: the barometric formula of the U.S. Standard Atmosphere, 1976 [m]. */
const SCALE_HEIGHT_M = 8434.5;
/** Steeper than any road: the altitude jumped. */
const STEEPEST_PCT = 25;

/** Seconds that are remembered; one entry a second. */
const SLOTS = 320;
const COLUMN = Object.fromEntries(CONTEXT_SIGNALS.map((signal, index) => [signal, index])) as Record<
  ContextSignal,
  number
>;
/** Figures of a remembered second. */
const [SECOND, DISTANCE_M, LOAD_S, LOAD_INTEGRAL, ALTITUDE_M, PRESSURE_KPA, FIELDS] = [0, 1, 2, 3, 4, 5, 6] as const;

/**
 * Follows what is told beside a worst value, row by row in time order: the rows' own values, mean load over two minutes,
 * and the road's grade as a recorder gives it, else from altitude over distance, else, roughly, from air pressure. Costs a
 * few reads a row and remembers five minutes.
 */
export class ContextTracker {
  private readonly at = new Float64Array(CONTEXT_SIGNALS.length).fill(Number.NaN);
  private readonly value = new Float64Array(CONTEXT_SIGNALS.length).fill(Number.NaN);
  private readonly slots = new Float64Array(SLOTS * FIELDS).fill(Number.NaN);
  private timeMs = Number.NaN;
  private distanceM = 0;
  private loadSeconds = 0;
  private loadIntegral = 0;

  /** @param columns values of each of CONTEXT_SIGNALS, null where the log lacks it */
  row(timeMs: number, columns: readonly (ArrayLike<number | null> | null)[], row: number): void {
    const dt = timeMs - this.timeMs;
    if (dt < 0) this.forget();
    else if (dt > 0 && dt <= HOLD_MS) this.step(dt / 1000);
    this.timeMs = timeMs;
    for (let index = 0; index < columns.length; index++) {
      const value = columns[index]?.[row];
      if (value === undefined || value === null || Number.isNaN(value)) continue;
      this.value[index] = value;
      this.at[index] = timeMs;
    }
    const second = Math.floor(timeMs / 1000);
    const at = (second % SLOTS) * FIELDS;
    const { slots } = this;
    slots[at + SECOND] = second;
    slots[at + DISTANCE_M] = this.distanceM;
    slots[at + LOAD_S] = this.loadSeconds;
    slots[at + LOAD_INTEGRAL] = this.loadIntegral;
    slots[at + ALTITUDE_M] = this.held('altitude_m');
    slots[at + PRESSURE_KPA] = this.held('barometric_pressure_kpa');
  }

  /** Beside the newest row. */
  context(): PeakContext {
    return {
      vehicle_speed_kmh: orNull(this.held('vehicle_speed_kmh')),
      engine_load_pct: orNull(this.held('engine_load_pct')),
      engine_speed_rpm: orNull(this.held('engine_speed_rpm')),
      ambient_temp_c: orNull(this.held('ambient_temp_c', AMBIENT_HOLD_MS)),
      grade_pct: this.grade(),
      load_2min_pct: this.meanLoad(),
    };
  }

  private step(seconds: number): void {
    const speed = this.held('vehicle_speed_kmh');
    if (!Number.isNaN(speed)) this.distanceM += (speed / 3.6) * seconds;
    const load = this.held('engine_load_pct');
    if (Number.isNaN(load)) return;
    this.loadSeconds += seconds;
    this.loadIntegral += load * seconds;
  }

  private held(signal: ContextSignal, holdMs = HOLD_MS): number {
    const index = COLUMN[signal];
    return this.timeMs - (this.at[index] as number) <= holdMs ? (this.value[index] as number) : Number.NaN;
  }

  private meanLoad(): number | null {
    const now = Math.floor(this.timeMs / 1000);
    for (let second = now - LOAD_SPAN_S; second < now; second++) {
      const at = this.slotOf(second);
      if (at < 0) continue;
      const seconds = this.loadSeconds - this.slots[at + LOAD_S]!;
      return seconds >= LOAD_SPAN_S / 4 ? (this.loadIntegral - this.slots[at + LOAD_INTEGRAL]!) / seconds : null;
    }
    return null;
  }

  private grade(): number | null {
    const recorded = this.held('grade_pct');
    if (!Number.isNaN(recorded)) return recorded;
    const altitudeM = this.held('altitude_m');
    const pressureKpa = this.held('barometric_pressure_kpa');
    return (
      this.gradeBy(ALTITUDE_GRADE, (at) => altitudeM - this.slots[at + ALTITUDE_M]!) ??
      this.gradeBy(PRESSURE_GRADE, (at) => SCALE_HEIGHT_M * Math.log(this.slots[at + PRESSURE_KPA]! / pressureKpa))
    );
  }

  /** Climb over the shortest way that is long enough. */
  private gradeBy({ leastM, longestS }: typeof ALTITUDE_GRADE, climbM: (at: number) => number): number | null {
    const now = Math.floor(this.timeMs / 1000);
    for (let second = now - 1; second >= now - longestS; second--) {
      const at = this.slotOf(second);
      if (at < 0) continue;
      const wayM = this.distanceM - this.slots[at + DISTANCE_M]!;
      if (wayM < leastM) continue;
      const pct = (climbM(at) / wayM) * 100;
      return Number.isNaN(pct) || Math.abs(pct) > STEEPEST_PCT ? null : pct;
    }
    return null;
  }

  /** Where a second is remembered, -1 if it is not. */
  private slotOf(second: number): number {
    const at = (((second % SLOTS) + SLOTS) % SLOTS) * FIELDS;
    return this.slots[at + SECOND] === second ? at : -1;
  }

  /** The clock stepped back: what was before is not before this. */
  private forget(): void {
    this.slots.fill(Number.NaN);
    this.at.fill(Number.NaN);
  }
}

const orNull = (value: number): number | null => (Number.isNaN(value) ? null : value);
