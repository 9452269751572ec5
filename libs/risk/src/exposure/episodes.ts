import type { RuleSet } from '../rules/rule-set.js';
import { type HeatSignal, type StageName, stagesFor } from '../rules/stages.js';

/** When an exceedance starts, ends and is worth keeping. */
export interface EpisodeRule {
  /** `high`: at or above the limit; `low`: at or below. */
  side: 'high' | 'low';
  limit: number;
  /** The value must come back past the limit by this much before the episode ends, so that it does not flutter. */
  hysteresis: number;
  /** Episodes with fewer seconds beyond the limit are dropped. */
  minSeconds: number;
  /** A value holds to the next valid one if that comes within this; a longer gap ends the episode. */
  holdSeconds: number;
}

/** What went on beside the signal, as far as it was recorded. */
export type EpisodeContext = Record<string, number | null>;

/** One continuous exceedance. */
export interface Episode {
  startMs: number;
  /** When the value was back past the hysteresis, or the last instant it held before a gap or the end. */
  endMs: number;
  /** Seconds beyond the limit by the hold rule: not longer than the episode, whose tail lies within the hysteresis. */
  seconds: number;
  /** Integral of the distance beyond the limit over those seconds [unit of the value x min]. */
  degreeMinutes: number;
  /** Highest (or lowest) value and when it was first reached. */
  worst: number;
  worstAtMs: number;
  contextAtWorst: EpisodeContext;
}

/**
 * Cuts episodes out of one signal's samples, in time order, one sample at a time. With no hysteresis and no minimum the
 * seconds of all episodes add up to the exposure that dwell gives.
 */
export class EpisodeCutter {
  private readonly episodes: Episode[] = [];
  private open: Episode | null = null;
  private last: { timeMs: number; value: number } | null = null;

  constructor(private readonly rule: EpisodeRule) {}

  /** @param value NaN where the row has none: the last value goes on holding. Rows that step back in time are passed over. */
  push(timeMs: number, value: number, context: () => EpisodeContext = () => ({})): void {
    if (Number.isNaN(value) || (this.last && timeMs <= this.last.timeMs)) return;
    this.hold(timeMs);
    const beyond = this.beyond(value);
    if (this.open && beyond < -this.rule.hysteresis) this.close(timeMs);
    if (!this.open && beyond >= 0)
      this.open = {
        ...{ startMs: timeMs, endMs: timeMs, seconds: 0, degreeMinutes: 0 },
        ...{ worst: value, worstAtMs: timeMs, contextAtWorst: context() },
      };
    else if (this.open && beyond > this.beyond(this.open.worst))
      Object.assign(this.open, { worst: value, worstAtMs: timeMs, contextAtWorst: context() });
    this.last = { timeMs, value };
  }

  /** Ends what is open and gives the episodes, oldest first. */
  finish(): Episode[] {
    if (this.open) this.close(this.open.endMs);
    return this.episodes;
  }

  /** Counts the step from the last value to now, or ends the episode where the value held last. */
  private hold(timeMs: number): void {
    if (!this.open || !this.last) return;
    const seconds = (timeMs - this.last.timeMs) / 1000;
    if (seconds > this.rule.holdSeconds) {
      this.close(this.last.timeMs);
      return;
    }
    this.open.endMs = timeMs;
    const beyond = this.beyond(this.last.value);
    if (beyond < 0) return;
    this.open.seconds += seconds;
    this.open.degreeMinutes += (beyond * seconds) / 60;
  }

  private close(endMs: number): void {
    if (this.open && this.open.seconds >= this.rule.minSeconds) this.episodes.push({ ...this.open, endMs });
    this.open = null;
  }

  /** Distance beyond the limit, negative within it. */
  private beyond(value: number): number {
    return this.rule.side === 'high' ? value - this.rule.limit : this.rule.limit - value;
  }
}

/** One rule a stage of a signal for a vehicle, lowest stage first. */
export function stageEpisodeRules(
  rules: RuleSet,
  signal: HeatSignal,
  vehicle: { vehicleClass: string; fuel?: string | undefined },
  holdSeconds = 5,
): (EpisodeRule & { stage: StageName; written: string })[] {
  return stagesFor(rules.stages, signal, vehicle).map(({ stage, valueC, written }) => ({
    ...{ stage, written, side: 'high', limit: valueC, holdSeconds },
    ...{ hysteresis: rules.heat.signals[signal].hysteresisK, minSeconds: rules.heat.minEpisodeSeconds },
  }));
}
