import { costLeftOut } from '../model/costs.js';
import type { Place, PlanProblem } from '../model/problem.js';
import type { Board } from './board.js';

export interface Search {
  problem: PlanProblem;
  board: Board;
  /** By demand, cheapest first; pinned demands are not touched. */
  places: readonly (readonly Place[])[];
  free: ReadonlySet<number>;
  /** True when the time is up. */
  stop: () => boolean;
}

export const costOf = (problem: PlanProblem, board: Board): number =>
  problem.demands.reduce((sum, demand, index) => sum + (board.placed[index]?.cost ?? costLeftOut(problem, demand)), 0);

/** Puts each demand, in the given order, into its cheapest place that fits. */
export function insertAll({ board, places }: Search, order: readonly number[]): void {
  for (const demand of order) {
    if (board.placed[demand]) continue;
    const place = places[demand]!.find((item) => board.fits(item));
    if (place) board.put(place);
  }
}

/** Those first that lose most by the minute they take. */
export function urgentFirst({ problem, free, places }: Search): number[] {
  const urgency = new Map(
    [...free].map((index) => {
      const what = problem.demands[index]!;
      const spread = places[index]!.length === 0 ? 0 : costLeftOut(problem, what) - places[index]![0]!.cost;
      return [index, spread / what.minutes] as const;
    }),
  );
  return [...free].sort((a, b) => urgency.get(b)! - urgency.get(a)! || a - b);
}

/**
 * Moves demands to cheaper places, alone or by sending another away from there, until nothing gains or the time is up.
 * The plan fits at every moment.
 */
export function improve(search: Search): void {
  for (let gained = true; gained && !search.stop(); ) {
    gained = false;
    for (const demand of search.free) {
      if (search.stop()) return;
      if (better(search, demand)) gained = true;
    }
  }
}

function better(search: Search, demand: number): boolean {
  const { board, places, problem } = search;
  const before = board.take(demand);
  const now = before?.cost ?? costLeftOut(problem, problem.demands[demand]!);
  for (const place of places[demand]!) {
    if (place.cost >= now - 1e-9) break;
    if (board.fits(place)) {
      board.put(place);
      return true;
    }
    if (sendAway(search, place, now - place.cost)) return true;
  }
  if (before) board.put(before);
  return false;
}

/** Takes one visit out of the bay so that the place fits, where it finds another place for less than what is gained. */
function sendAway({ board, places, problem, free }: Search, place: Place, gain: number): boolean {
  if (place.parts.length > 1) return false;
  for (const other of [...board.visitsIn(place.bay, place.day)]) {
    if (!free.has(other.demand) || other.parts.length > 1) continue;
    board.take(other.demand);
    if (board.fits(place)) {
      board.put(place);
      const most = other.cost + gain - 1e-9;
      const left = costLeftOut(problem, problem.demands[other.demand]!);
      for (const next of places[other.demand]!) {
        if (next.cost >= most) break;
        if (!board.fits(next)) continue;
        board.put(next);
        return true;
      }
      if (left < most) return true;
      board.take(place.demand);
    }
    board.put(other);
  }
  return false;
}
