import type { PlaceLimit, PlanObstacle } from '@tallybay/contracts';
import { placeAt } from '../model/places.js';
import type { Obstacle, Place, PlanProblem } from '../model/problem.js';
import type { Board } from '../solve/board.js';

const LIMIT_TEXT: Record<PlaceLimit, string> = {
  closed: 'the shop is closed',
  holiday: 'it is a holiday',
  bay_closed: 'the bay is closed',
  bay_lacks: 'the bay lacks what is needed',
  nobody_has_skill: 'nobody there has the skill',
  nobody_free: 'nobody with the skill is free',
  bay_full: 'the bay is full',
  spares_used: 'no more vehicles of the class can be spared',
  in_service: 'the vehicle is in service',
  no_travel: 'vehicles are not sent there',
  too_early: 'it is too early',
  past: 'the day is past',
  already_in_shop: 'the vehicle has another visit that day',
  too_long: 'the work would not end within the plan',
  late: 'it is past the latest date',
};

/** Limits that no other visit has part in. */
const STANDING: ReadonlySet<PlaceLimit> = new Set(['bay_lacks', 'nobody_has_skill', 'no_travel']);

/** What stands against a place in the plan as it is; empty = it fits. The visit itself is not in its own way. */
export function obstaclesAt(board: Board, demand: number, at: { bay: number; day: number }): Obstacle[] {
  const result = placeAt(board.problem, demand, at.bay, at.day);
  if ('obstacle' in result) return [result.obstacle];
  const now = board.take(demand);
  const obstacle = board.obstacle(result.place);
  if (now) board.put(now);
  return obstacle ? [obstacle] : [];
}

/**
 * Why a demand has no place on or before a day: each limit with the number of places (a bay on a day) that it closes,
 * those that close most first. Limits that hold for a whole bay always are named with the bay, once.
 */
export function whyNot(board: Board, demand: number, untilDay: number): PlanObstacle[] {
  const { problem } = board;
  const found = new Map<PlaceLimit, { places: number; sample: string }>();
  const last = Math.min(untilDay, problem.days.length - 1);
  for (let bay = 0; bay < problem.bays.length; bay += 1)
    for (let day = 0; day <= last; day += 1) {
      const [obstacle] = obstaclesAt(board, demand, { bay, day });
      if (!obstacle) continue;
      const row = found.get(obstacle.limit) ?? { places: 0, sample: obstacle.text };
      found.set(obstacle.limit, { ...row, places: row.places + 1 });
    }
  return [...found]
    .sort((a, b) => b[1].places - a[1].places)
    .map(([limit, { places, sample }]) => ({ limit, places, text: textOf(limit, places, sample) }));
}

function textOf(limit: PlaceLimit, places: number, sample: string): string {
  if (STANDING.has(limit)) return `${sample}.`;
  const count = places === 1 ? '1 bay day' : `${places} bay days`;
  return `In ${count} ${LIMIT_TEXT[limit]}; for one, ${sample.charAt(0).toLowerCase()}${sample.slice(1)}.`;
}

export interface Move {
  demand: number;
  from: { bay: number; day: number };
  to: { bay: number; day: number } | null;
  why: string;
}

/** Booked visits that the plan has moved, with the reason: what stands against the old place, or what the move is good for. */
export function movesOf(board: Board): Move[] {
  return [...board.problem.demands.entries()].flatMap(([demand, { held }]): Move[] => {
    if (held?.hold !== 'booked') return [];
    const to = board.placed[demand] ?? null;
    if (to && to.bay === held.bay && to.day === held.day) return [];
    return [{ demand, from: { bay: held.bay, day: held.day }, to, why: whyMoved(board, demand, to) }];
  });
}

function whyMoved(board: Board, demand: number, to: Place | null): string {
  const { problem } = board;
  const { held } = problem.demands[demand]!;
  const before = placeAt(problem, demand, held!.bay, held!.day);
  if ('obstacle' in before) return `The old place is gone: ${lower(before.obstacle.text)}.`;
  const [obstacle] = obstaclesAt(board, demand, held!);
  const gain = to ? before.place.cost - to.cost : 0;
  if (!obstacle) return `The new place costs ${Math.round(gain)} less, the move counted in.`;
  const others = newcomers(board, held!);
  const instead = others.length > 0 ? `; it went to ${others.join(', ')}, whose waiting costs more` : '';
  return `${obstacle.text}${instead}.`;
}

/** Vehicles that have the old place now and had not before. */
function newcomers(board: Board, { bay, day }: { bay: number; day: number }): string[] {
  return board
    .visitsIn(bay, day)
    .map(({ demand }) => board.problem.demands[demand]!)
    .filter(({ held }) => held?.bay !== bay || held.day !== day)
    .map(({ vehicle }) => vehicle);
}

const lower = (text: string): string => `${text.charAt(0).toLowerCase()}${text.slice(1)}`;

/** How many days past its latest date a place is; 0 = in time. */
export function lateDays(problem: PlanProblem, { demand, day }: Pick<Place, 'demand' | 'day'>): number {
  const { latest } = problem.demands[demand]!;
  return latest === null ? 0 : Math.max(0, day - latest);
}
