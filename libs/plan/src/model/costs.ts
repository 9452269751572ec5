import { type Demand, type PlanProblem, travelKey } from './problem.js';

const MINUTES_AN_HOUR = 60;
/** Another bay on the same day disturbs nobody but the shop. */
const OTHER_BAY_SHARE = 0.25;
/** Leaving work out must never be cheaper than doing it, even where waiting costs nothing. */
const LEFT_OUT = 1;

/**
 * Expected cost of having a visit on a day: waiting since the first day it could have been, lateness past the last,
 * travel both ways, and the move where it was booked elsewhere.
 */
export function costAt(problem: PlanProblem, demand: Demand, bay: number, day: number): number {
  return waitingCost(demand, day) + travelCost(problem, demand, bay) + moveCost(problem, demand, bay, day);
}

/** Cost of not being planned at all: the wait beyond the horizon, and more than any place could cost besides. */
export function costLeftOut(problem: PlanProblem, demand: Demand): number {
  const { rules, days, bays } = problem;
  const travel = Math.max(0, ...bays.map((_, bay) => travelCost(problem, demand, bay)));
  const move = demand.held?.hold === 'booked' ? rules.moveCost : 0;
  return waitingCost(demand, days.length - 1 + rules.beyondDays) + travel + move + LEFT_OUT;
}

export function waitingCost(demand: Demand, day: number): number {
  const late = demand.latest === null ? 0 : Math.max(0, day - Math.max(demand.latest, demand.earliest, 0));
  return demand.costPerDay * Math.max(0, day - Math.max(0, demand.earliest)) + demand.latePerDay * late;
}

function travelCost(problem: PlanProblem, demand: Demand, bay: number): number {
  const there = problem.bays[bay]!.depot;
  if (there === demand.depot) return 0;
  const minutes = problem.travel.get(travelKey(demand.depot, there)) ?? 0;
  return ((2 * minutes) / MINUTES_AN_HOUR) * problem.rules.travelCostPerHour;
}

function moveCost(problem: PlanProblem, { held }: Demand, bay: number, day: number): number {
  if (held === null || held.hold === 'proposed') return 0;
  if (held.day !== day) return problem.rules.moveCost;
  return held.bay === bay ? 0 : problem.rules.moveCost * OTHER_BAY_SHARE;
}
