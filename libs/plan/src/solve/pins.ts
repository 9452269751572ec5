import { costAt } from '../model/costs.js';
import { partsFrom, placeAt } from '../model/places.js';
import { isOpen, type Obstacle, type Place, type PlanProblem } from '../model/problem.js';
import { Board } from './board.js';

export interface Pinned {
  places: Place[];
  /** With the pinned visits on it and nothing else. */
  board: Board;
  /** Pinned visits whose place does not hold any more: they stay where they are, and somebody must look. */
  conflicts: { demand: number; obstacle: Obstacle }[];
  /** Demands that are left out for now. */
  leftOut?: ReadonlySet<number>;
}

/** The places of pinned visits. They stay whatever the limits say; where a limit is broken it is said. */
export function pinnedPlaces(problem: PlanProblem): Pinned {
  const board = new Board(problem);
  const pinned: Pinned = { places: [], conflicts: [], board };
  for (const [demand, { held, minutes }] of problem.demands.entries()) {
    if (held?.hold !== 'pinned') continue;
    const { bay, day } = held;
    const result = placeAt(problem, demand, bay, day);
    const place = 'place' in result ? result.place : forced(problem, { demand, bay, day, minutes });
    const obstacle = 'place' in result ? board.obstacle(place) : result.obstacle;
    if (obstacle) {
      pinned.conflicts.push({ demand, obstacle });
      board.putDisputed(place);
    } else board.put(place);
    pinned.places.push(place);
  }
  return pinned;
}

function forced(problem: PlanProblem, pin: { demand: number; bay: number; day: number; minutes: number }): Place {
  const { demand, bay, day, minutes } = pin;
  const where = problem.bays[bay]!;
  const parts = (isOpen(where.days[day]) && partsFrom(where, day, minutes)) || [{ day, minutes }];
  const cost = costAt(problem, problem.demands[demand]!, bay, day);
  return { demand, bay, day, lastDay: parts.at(-1)!.day, parts, cost };
}
