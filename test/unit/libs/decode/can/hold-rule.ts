import type { LogPlan, SampleBatch, SignalId } from '@tallybay/decode';

export interface HeldSignal {
  n: number;
  min: number;
  max: number;
  /** Seconds at or above each limit: a value holds to the next valid one; a step counts if 0 < dt <= 5 s. */
  secondsAtOrAbove(limit: number): number;
}

/** Independent of the library's accumulator: keeps every value and counts at the end. */
export function collectSignals(plan: LogPlan): {
  sink(batch: SampleBatch): void;
  signal(id: SignalId): HeldSignal | null;
} {
  const kept = new Map<SignalId, { times: number[]; values: number[] }>();
  return {
    sink(batch) {
      plan.signals.forEach((id, column) => {
        const series = kept.get(id) ?? { times: [], values: [] };
        kept.set(id, series);
        for (let row = 0; row < batch.rowCount; row++) {
          const value = batch.values[column]?.[row] ?? Number.NaN;
          if (Number.isNaN(value)) continue;
          series.times.push(batch.timeMs[row] ?? 0);
          series.values.push(value);
        }
      });
    },
    signal(id) {
      const series = kept.get(id);
      if (!series || series.values.length === 0) return null;
      const { times, values } = series;
      return {
        n: values.length,
        min: values.reduce((least, value) => Math.min(least, value)),
        max: values.reduce((most, value) => Math.max(most, value)),
        secondsAtOrAbove(limit) {
          let seconds = 0;
          for (let row = 1; row < values.length; row++) {
            const step = ((times[row] ?? 0) - (times[row - 1] ?? 0)) / 1000;
            if (step > 0 && step <= 5 && (values[row - 1] ?? 0) >= limit) seconds += step;
          }
          return seconds;
        },
      };
    },
  };
}
