import { isOpen, type Place, type Placement, type PlanProblem } from '../model/problem.js';
import type { Board } from './board.js';

/**
 * Times and people for what is placed. Work that goes on from the day before comes first; a visit that stays in its bay and
 * day keeps its time where that fits, the others fill the gaps, longest first.
 */
export function sequence(board: Board): Placement[] {
  const { problem } = board;
  const placed = board.placed.filter((place) => place !== null);
  const starts = new Map<string, number>();
  const people = new Map<string, number>();
  for (const [bay, { depot }] of problem.bays.entries())
    for (let day = 0; day < problem.days.length; day += 1) {
      for (const [place, from] of daySequence(problem, board.visitsIn(bay, day), { bay, day }))
        starts.set(`${place.demand} ${day}`, from);
      const person = board.visitsIn(bay, day).length > 0 ? board.staffed(depot, day)?.get(bay) : undefined;
      if (person !== undefined) people.set(`${bay} ${day}`, person);
    }
  return placed.map((place) => ({
    ...{ demand: place.demand, bay: place.bay, day: place.day, lastDay: place.lastDay },
    parts: place.parts.map(({ day, minutes }) => ({
      ...{ day, minutes, fromMinute: starts.get(`${place.demand} ${day}`) ?? 0 },
      person: people.get(`${place.bay} ${day}`) ?? null,
    })),
  }));
}

function daySequence(
  problem: PlanProblem,
  visits: readonly Place[],
  at: { bay: number; day: number },
): Map<Place, number> {
  const open = problem.bays[at.bay]!.days[at.day]!;
  const from = isOpen(open) ? open.fromMinute : 8 * 60;
  const to = isOpen(open) ? open.toMinute : 24 * 60;
  const minutesOf = (place: Place) => place.parts.find(({ day }) => day === at.day)!.minutes;
  const heldAt = (place: Place) => {
    const { held } = problem.demands[place.demand]!;
    return held && held.bay === at.bay && held.day === at.day ? held.fromMinute : null;
  };
  const order = [...visits].sort(
    (a, b) =>
      Number(b.day < at.day) - Number(a.day < at.day) ||
      (heldAt(a) ?? Infinity) - (heldAt(b) ?? Infinity) ||
      minutesOf(b) - minutesOf(a) ||
      a.demand - b.demand,
  );
  return withGaps(order, { from, to, minutesOf, heldAt, day: at.day }) ?? oneAfterAnother(order, from, minutesOf);
}

interface Day {
  from: number;
  to: number;
  day: number;
  minutesOf: (place: Place) => number;
  heldAt: (place: Place) => number | null;
}

/** Kept times first, the rest into the first gap that takes them; null when that breaks the day into pieces too small. */
function withGaps(order: readonly Place[], { from, to, day, minutesOf, heldAt }: Day): Map<Place, number> | null {
  const starts = new Map<Place, number>();
  const taken: { from: number; to: number }[] = [];
  const fits = (start: number, minutes: number) =>
    start >= from && start + minutes <= to && taken.every((slot) => start + minutes <= slot.from || start >= slot.to);
  const take = (place: Place, start: number) => {
    starts.set(place, start);
    taken.push({ from: start, to: start + minutesOf(place) });
  };
  for (const place of order) {
    const start = place.day < day ? from : heldAt(place);
    if (start !== null && fits(start, minutesOf(place))) take(place, start);
  }
  for (const place of order) {
    if (starts.has(place)) continue;
    const start = [from, ...taken.map((slot) => slot.to)]
      .sort((a, b) => a - b)
      .find((at) => fits(at, minutesOf(place)));
    if (start === undefined) return null;
    take(place, start);
  }
  return starts;
}

function oneAfterAnother(
  order: readonly Place[],
  from: number,
  minutesOf: (place: Place) => number,
): Map<Place, number> {
  let at = from;
  const starts = new Map<Place, number>();
  for (const place of order) {
    starts.set(place, at);
    at += minutesOf(place);
  }
  return starts;
}
