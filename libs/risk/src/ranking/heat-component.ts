import type { Component, Reason } from '@tallybay/contracts';
import { isoInstant } from '../calendar/iso-week.js';
import { isFluid, type SignalHeat, type StageExposure, type VehicleHeat } from '../exposure/vehicle-heat.js';
import type { HeatPeakFact } from '../facts.js';
import { minutesText, rounded, roundedOrNull } from '../figures.js';
import type { HeatRule } from '../rules/heat.js';
import type { HeatSignal } from '../rules/stages.js';
import { gammaPoissonPosterior } from '../stats/gamma-poisson.js';
import { ClassPriors } from './class-prior.js';
import { peakText } from './peak-text.js';

export interface ComponentResult {
  component: Component;
  reasons: Reason[];
  inputs: Record<string, unknown>;
  /** Of heat: score between one standard deviation below and above the shrunk rates; null when it is not scored. */
  width?: number | null;
}

/** A signal's weighted minutes per engine hour, raw and shrunk toward the class. */
export interface SignalRate {
  raw: number;
  shrunk: number;
  /** Standard deviation of the shrunk rate, from the same posterior. */
  sd: number;
  priorRate: number;
  priorHours: number;
}

/** Whether there are enough hours to speak of heat at all. */
export const enoughHours = (heat: VehicleHeat, rule: HeatRule): boolean => heat.engineHours >= rule.minEngineHours;

/** Few hours show no vehicle to be well, but they can show one that is not. */
export const isJudged = (heat: VehicleHeat, rule: HeatRule): boolean =>
  enoughHours(heat, rule) ||
  heat.signals.some(
    ({ signal, stages }) =>
      isFluid(signal) &&
      stages.some(({ stage, seconds }) => stage === rule.hotAnyway.stage && seconds >= rule.hotAnyway.seconds),
  );

/** One signal's rates for all vehicles of one class, by position in `vehicles`; null where the signal is not usable. */
export function classRates(
  vehicles: readonly VehicleHeat[],
  signal: HeatSignal,
  rule: HeatRule,
): (SignalRate | null)[] {
  const units = vehicles.map((heat) => {
    const row = heat.signals.find((item) => item.signal === signal);
    const usable = row?.state === 'ok' && row.engineHours > 0 && isJudged(heat, rule);
    return usable ? { events: row.weightedMinutes, hours: row.engineHours } : null;
  });
  const priors = new ClassPriors(
    units.filter((unit) => unit !== null),
    rule,
  );
  return units.map((unit) => {
    if (!unit) return null;
    const prior = priors.priorWithout(unit);
    const { mean, alpha, beta } = gammaPoissonPosterior(prior, [unit.events], unit.hours);
    // The Poisson model counts events of `minutesPerEvent` each.
    const sd = Math.sqrt(alpha * rule.minutesPerEvent) / beta;
    return {
      raw: unit.events / unit.hours,
      shrunk: mean,
      sd,
      priorRate: prior.alpha / prior.beta,
      priorHours: prior.beta,
    };
  });
}

/**
 * Heat score of one vehicle: per signal weight x rate / (rate + halfScoreRate), joined as 1 - product of (1 - s).
 * Null when the hours do not suffice and nothing was at the rule's `hotAnyway`, and without a coolant temperature to
 * believe, unless oil or transmission fluid are hot: those can accuse a vehicle, but not clear it.
 */
export function heatComponent(
  heat: VehicleHeat,
  rates: Partial<Record<HeatSignal, SignalRate | null>>,
  rule: HeatRule,
): ComponentResult {
  const judged = isJudged(heat, rule)
    ? heat.signals.flatMap((row) => {
        const rate = rates[row.signal];
        return rate ? [{ row, rate, score: signalScore(row.signal, rate.shrunk, rule) }] : [];
      })
    : [];
  const usable = judged.some(({ row }) => row.signal === 'coolant_temp_c' || (isFluid(row.signal) && isHot(row)));
  const seen = Math.min(1, heat.engineHours / rule.minEngineHours);
  const score = seen * (1 - judged.reduce((left, { score: part }) => left * (1 - part), 1));
  const edge = (side: number) =>
    seen *
    (1 - judged.reduce((left, { row, rate }) => left * (1 - signalScore(row.signal, shifted(rate, side), rule)), 1));
  const bad = heat.findings.length > 0;
  return {
    component: {
      score: usable ? rounded(score, 6) : null,
      state: bad ? 'bad_sensor' : usable ? 'ok' : 'no_data',
      note: heatNote(heat, usable, rule),
    },
    width: usable ? edge(1) - edge(-1) : null,
    reasons: usable ? judged.flatMap(({ row, score: part }) => heatReasons(row, seen * part)) : [],
    inputs: {
      engineHours: rounded(heat.engineHours, 4),
      signals: Object.fromEntries(heat.signals.map((row) => [row.signal, signalInputs(row, rates[row.signal])])),
      sensorFindings: heat.findings,
    },
  };
}

/** A rate so many standard deviations away; never below none. */
const shifted = ({ shrunk, sd }: SignalRate, side: number): number => Math.max(0, shrunk + side * sd);

const signalScore = (signal: HeatSignal, rate: number, rule: HeatRule): number =>
  (rule.signals[signal].weight * rate) / (rate + rule.halfScoreRate);

function heatNote(heat: VehicleHeat, usable: boolean, rule: HeatRule): string | null {
  const notes = heat.findings.map((finding) => finding.text);
  if (heat.engineHours === 0) notes.push('No engine hours were recorded this week.');
  else if (!enoughHours(heat, rule))
    notes.push(`${fewHoursText(heat, rule)}${usable ? ' What was seen counts in that share.' : ''}`);
  else if (heat.signals.every((row) => row.signal !== 'coolant_temp_c' || row.state === 'no_data'))
    notes.push(noCoolantText(heat, usable));
  return notes.length > 0 ? notes.join(' ') : null;
}

function noCoolantText(heat: VehicleHeat, usable: boolean): string {
  const others = heat.signals.filter((row) => isFluid(row.signal) && row.state === 'ok');
  if (others.length === 0) return 'No coolant, oil or transmission temperature was recorded.';
  const names = others.map((row) => row.label.toLowerCase()).join(' and ');
  return usable
    ? `No coolant temperature was recorded; judged on ${names}.`
    : `No coolant temperature was recorded; ${names} alone cannot clear the vehicle.`;
}

/** Beyond its normal band. */
const isHot = (row: SignalHeat): boolean => row.stages.some(({ stage, seconds }) => stage !== 'watch' && seconds > 0);

/** Few hours are not scored, but what was seen in them is said. */
export function fewHoursText(heat: VehicleHeat, rule: HeatRule): string {
  const seen = heat.signals
    .filter((row) => row.state !== 'bad_sensor' && row.maxC !== null)
    .map((row) => `${row.label.toLowerCase()} up to ${row.maxC!.toFixed(0)} °C`);
  const hours = `${heat.engineHours.toFixed(2)} engine hours this week, at least ${rule.minEngineHours} needed`;
  return `Only ${hours}${seen.length > 0 ? ` (${seen.join(', ')})` : ''}.`;
}

/** The highest stage that was reached, in words; lower ones follow from it and are in the inputs. */
function heatReasons(row: SignalHeat, score: number): Reason[] {
  const top = row.stages.findLast((stage) => stage.seconds > 0);
  if (!top) return [];
  const { peak } = row;
  const others = row.driveIds.filter((id) => id !== peak?.driveId).map((id) => ({ kind: 'drive' as const, id }));
  const evidence = peak
    ? [{ kind: 'drive' as const, id: peak.driveId, at: isoInstant(peak.atMs, 'UTC') }, ...others]
    : others;
  return [{ component: 'heat', text: reasonText(row, top), weight: rounded(score, 6), evidence }];
}

function reasonText(row: SignalHeat, top: StageExposure): string {
  const caution = row.stages.find((stage) => stage.stage === 'caution' && stage.seconds > 0);
  const wider = caution && caution !== top ? `, ${minutesText(caution.seconds)} at or above ${limitText(caution)}` : '';
  const shared = top.exact ? '' : ' (about)';
  return (
    `${row.label} at or above ${limitText(top)} for ${minutesText(top.seconds)}${shared} in ` +
    `${row.engineHours.toFixed(1)} engine hours${wider}; peak ${top.peak!.toFixed(1)} °C${peakText(row.peak)}.`
  );
}

const limitText = ({ valueC, written, stage }: StageExposure): string =>
  `${valueC.toFixed(1)} °C (${written}, ${stage})`;

const peakInputs = ({ valueC, atMs, driveId, uploadId, context }: HeatPeakFact) => ({
  ...{ valueC: rounded(valueC, 2), at: isoInstant(atMs, 'UTC'), drive: driveId, upload: uploadId },
  context: Object.fromEntries(Object.entries(context).map(([key, value]) => [key, roundedOrNull(value, 2)])),
});

function signalInputs(row: SignalHeat, rate: SignalRate | null | undefined): Record<string, unknown> {
  const perHour = (amount: number) => (row.engineHours > 0 ? rounded(amount / row.engineHours, 4) : null);
  const per100Km = (amount: number) => (row.distanceKm ? rounded((amount / row.distanceKm) * 100, 4) : null);
  return {
    state: row.state,
    engineHours: rounded(row.engineHours, 4),
    maxC: roundedOrNull(row.maxC, 2),
    weightedMinutes: rounded(row.weightedMinutes, 4),
    ...(row.peak ? { peak: peakInputs(row.peak) } : {}),
    rate: rate && {
      raw: rounded(rate.raw, 6),
      shrunk: rounded(rate.shrunk, 6),
      sd: rounded(rate.sd, 6),
      classRate: rounded(rate.priorRate, 6),
      classHours: rounded(rate.priorHours, 4),
    },
    stages: row.stages.map((stage) => ({
      stage: stage.stage,
      atOrAboveC: rounded(stage.valueC, 4),
      written: stage.written,
      seconds: rounded(stage.seconds, 3),
      degreeMinutes: rounded(stage.degreeMinutes, 3),
      minutesPerEngineHour: perHour(stage.seconds / 60),
      minutesPer100Km: per100Km(stage.seconds / 60),
      degreeMinutesPerEngineHour: perHour(stage.degreeMinutes),
      degreeMinutesPer100Km: per100Km(stage.degreeMinutes),
      peakC: roundedOrNull(stage.peak, 2),
      exact: stage.exact,
    })),
  };
}
