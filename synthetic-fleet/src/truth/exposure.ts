import { TICK_S } from '../physics/drive.js';
import type { DriveState } from '../physics/state.js';

/** Stages at which the truth is known, per signal [degC]. They include both units' round numbers of the trade. */
export const TRUTH_STAGES = {
  coolant_temp_c: [90, 95, 100, 104, 105, 107, 110, 112, 115, 116, 118, 120, 121],
  engine_oil_temp_c: [110, 116, 120, 127, 130, 138],
  trans_fluid_temp_c: [93, 100, 107, 110, 116, 121, 130],
  charge_air_temp_c: [60, 70, 80, 90, 100, 110, 120],
  exhaust_gas_temp_c: [500, 600, 650, 677, 704, 750, 800],
} as const;

export type TruthSignal = keyof typeof TRUTH_STAGES;
export const TRUTH_SIGNALS = Object.keys(TRUTH_STAGES) as TruthSignal[];

/** Above this for a minute and more in a week a vehicle ran hot; standards of common practice, no source. */
const HOT_STAGES: Partial<Record<TruthSignal, string>> = {
  coolant_temp_c: '110',
  engine_oil_temp_c: '127',
  trans_fluid_temp_c: '116',
  charge_air_temp_c: '100',
};
const HOT_SECONDS = 60;

export function hotSignals(exposure: Exposure): TruthSignal[] {
  return TRUTH_SIGNALS.filter((signal) => {
    const stage = HOT_STAGES[signal];
    return stage !== undefined && (exposure[signal].stages[stage]?.seconds ?? 0) >= HOT_SECONDS;
  });
}

const TRUE_VALUE: Record<TruthSignal, (state: DriveState) => number> = {
  coolant_temp_c: (state) => state.coolantC,
  engine_oil_temp_c: (state) => state.oilC,
  trans_fluid_temp_c: (state) => state.transC,
  charge_air_temp_c: (state) => state.chargeC,
  exhaust_gas_temp_c: (state) => state.exhaustC,
};

export interface SignalExposure {
  /** Highest true value with the engine running [degC]; null without a running second. */
  max: number | null;
  /** Stage -> seconds at or above, and degree-minutes above, by the hold rule at 10 Hz. */
  stages: Record<string, { seconds: number; degreeMinutes: number }>;
}

export type Exposure = Record<TruthSignal, SignalExposure>;

/** Adds up exposure from the true state, ten times a second, engine running only. */
export class ExposureMeter {
  readonly #meters = TRUTH_SIGNALS.map((signal) => ({
    signal,
    read: TRUE_VALUE[signal],
    stages: [...TRUTH_STAGES[signal]] as number[],
    ticks: new Float64Array(TRUTH_STAGES[signal].length),
    sums: new Float64Array(TRUTH_STAGES[signal].length),
    last: Number.NaN,
    max: Number.NEGATIVE_INFINITY,
  }));
  #running = false;

  /** The next state of the drive: the state before it held until now. */
  observe(state: DriveState): void {
    for (const meter of this.#meters) {
      if (this.#running) hold(meter);
      meter.last = meter.read(state);
      if (state.running && meter.last > meter.max) meter.max = meter.last;
    }
    this.#running = state.running;
  }

  /** The drive is over: its last state holds for nothing. */
  endDrive(): void {
    this.#running = false;
  }

  result(): Exposure {
    const entries = this.#meters.map((meter) => {
      const stages = meter.stages.map((stage, index) => [
        String(stage),
        {
          seconds: rounded((meter.ticks[index] as number) * TICK_S, 1),
          degreeMinutes: rounded(((meter.sums[index] as number) * TICK_S) / 60, 4),
        },
      ]);
      const max = meter.max === Number.NEGATIVE_INFINITY ? null : rounded(meter.max, 2);
      return [meter.signal, { max, stages: Object.fromEntries(stages) }];
    });
    return Object.fromEntries(entries) as Exposure;
  }
}

function hold(meter: { stages: number[]; ticks: Float64Array; sums: Float64Array; last: number }): void {
  for (let i = 0; i < meter.stages.length; i += 1) {
    const above = meter.last - (meter.stages[i] as number);
    if (above < 0) return;
    meter.ticks[i] = (meter.ticks[i] as number) + 1;
    meter.sums[i] = (meter.sums[i] as number) + above;
  }
}

export function rounded(value: number, decimals: number): number {
  const factor = 10 ** decimals;
  return Math.round(value * factor) / factor;
}
