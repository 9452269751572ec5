import { MS_PER_DAY } from '../calendar.js';

/** What a bad coolant sensor or a badly set-up recorder writes instead of the true temperature. */
export type SensorFaultKind = 'stuck_high' | 'open_circuit' | 'drift' | 'wrong_unit';

export interface SensorFaultPlan {
  kind: SensorFaultKind;
  fromMs: number;
  /** stuck_high: the constant [degC]; drift: [K/day]; unused otherwise. */
  value: number;
}

/** Reading of the coolant sensor, given the truth. `wrong_unit` is not here: the recorder does that to all temperatures. */
export function coolantReading(fault: SensorFaultPlan | null, trueC: number, ms: number): number {
  if (!fault || ms < fault.fromMs) return trueC;
  switch (fault.kind) {
    case 'stuck_high':
      return fault.value;
    case 'open_circuit':
      return -40;
    case 'drift':
      return trueC + Math.min(28, (fault.value * (ms - fault.fromMs)) / MS_PER_DAY);
    case 'wrong_unit':
      return trueC;
  }
}
