import { allPlaces } from '../model/places.js';
import type { PlanProblem } from '../model/problem.js';
import { Board } from './board.js';
import { pinnedPlaces } from './pins.js';
import { costOf } from './search.js';

/** The usual way without a planner: down the list by rank, each into the first bay that is free. For comparison. */
export function firstFreeBay(problem: PlanProblem, rank: readonly number[]): { board: Board; cost: number } {
  const { board } = pinnedPlaces(problem);
  const places = allPlaces(problem);
  for (const demand of rank) {
    if (board.placed[demand]) continue;
    const byDay = [...places[demand]!].sort((a, b) => a.day - b.day || a.bay - b.bay);
    const place = byDay.find((item) => board.fits(item));
    if (place) board.put(place);
  }
  return { board, cost: costOf(problem, board) };
}
