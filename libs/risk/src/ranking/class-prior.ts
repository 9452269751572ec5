import type { HeatRule } from '../rules/heat.js';
import { type GammaPrior, marshallMoments, type RateSums } from '../stats/gamma-poisson.js';

/** One vehicle's weighted minutes of one signal and the engine hours behind them. */
export interface RateUnit {
  events: number;
  hours: number;
}

/**
 * What is believed of one vehicle before its own week is looked at, from the other vehicles of its class.
 *
 * The vehicle itself is left out, so its own exposure can only raise its own shrunk rate. The mean is the class's median
 * rate, not its average, and capped: boiling trucks must not colour their healthy neighbours. The weight comes from
 * Marshall's moments on rates cut at `halfScoreRate` for the same reason, in units of `minutesPerEvent`, within bounds:
 * a class that looks alike is trusted more, and never so much that a full week's own data could not outweigh it.
 */
export class ClassPriors {
  private readonly units: (RateUnit & { rate: number })[];
  private readonly sums: RateSums = { units: 0, events: 0, exposure: 0, eventsSquaredPerExposure: 0 };

  constructor(
    units: readonly RateUnit[],
    private readonly rule: HeatRule,
  ) {
    const usable = units.filter((unit) => unit.hours > 0).map((unit) => ({ ...unit, rate: unit.events / unit.hours }));
    // Pseudo-vehicles: what is believed of any class. In a class of two or three they outvote a hot neighbour.
    const believed = Array.from({ length: rule.defaultVehicles }, () => ({
      events: rule.defaultRate * rule.defaultRateHours,
      hours: rule.defaultRateHours,
      rate: rule.defaultRate,
    }));
    this.units = [...usable, ...believed].sort((a, b) => a.rate - b.rate || a.hours - b.hours);
    for (const unit of this.units) this.addToSums(unit);
  }

  /** @param own the vehicle to leave out; it must be one of the units given */
  priorWithout(own: RateUnit): GammaPrior {
    const mean = Math.min(this.medianRateWithout(own), this.rule.mostClassRate);
    const others: RateSums = { ...this.sums };
    const cut = this.cutEvents(own);
    others.units -= 1;
    others.events = Math.max(0, others.events - cut);
    others.exposure -= own.hours;
    others.eventsSquaredPerExposure = Math.max(0, others.eventsSquaredPerExposure - (cut * cut) / own.hours);
    const { beta } = marshallMoments(others);
    const { least, most } = this.rule.priorHours;
    const weight = Math.min(most, Math.max(least, beta ?? most));
    return { alpha: mean * weight, beta: weight };
  }

  private addToSums(unit: RateUnit): void {
    const cut = this.cutEvents(unit);
    this.sums.units += 1;
    this.sums.events += cut;
    this.sums.exposure += unit.hours;
    this.sums.eventsSquaredPerExposure += (cut * cut) / unit.hours;
  }

  private cutEvents(unit: RateUnit): number {
    return Math.min(unit.events, this.rule.halfScoreRate * unit.hours) / this.rule.minutesPerEvent;
  }

  /** Lower median, one vote a vehicle: in a class of two the hot one does not speak for the other. */
  private medianRateWithout(own: RateUnit): number {
    const position = this.units.findIndex((unit) => unit.events === own.events && unit.hours === own.hours);
    const middle = Math.floor((this.units.length - 2) / 2);
    return this.units[middle < position ? middle : middle + 1]?.rate ?? this.rule.defaultRate;
  }
}
