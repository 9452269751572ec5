import { costAt } from './costs.js';
import {
  type Demand,
  depotName,
  hasAll,
  isOpen,
  type Obstacle,
  openMinutes,
  type Place,
  type PlacePart,
  type PlanBay,
  type PlanProblem,
  travelKey,
} from './problem.js';

export type PlaceOrObstacle = { place: Place } | { obstacle: Obstacle };

/**
 * What keeps a visit from starting in a bay on a day, other visits aside; else the place with its cost.
 * @param demand index into the problem's demands
 */
export function placeAt(problem: PlanProblem, demand: number, bay: number, day: number): PlaceOrObstacle {
  const what = problem.demands[demand]!;
  const where = problem.bays[bay]!;
  const obstacle = staticObstacle(problem, what, where) ?? dayObstacle(problem, what, where, day);
  if (obstacle) return { obstacle };
  const parts = partsFrom(where, day, what.minutes);
  if (!parts) return blocked('too_long', `${minutesText(what.minutes)} do not end within the plan's last day`);
  const lastDay = parts.at(-1)!.day;
  const missing = presenceObstacle(problem, what, where, { day, lastDay, parts });
  if (missing) return { obstacle: missing };
  return { place: { demand, bay, day, lastDay, parts, cost: costAt(problem, what, bay, day) } };
}

/** Every place of every demand, cheapest first. */
export function allPlaces(problem: PlanProblem): Place[][] {
  return problem.demands.map((_, demand) => placesOf(problem, demand));
}

/** @param demand index into the problem's demands */
export function placesOf(problem: PlanProblem, demand: number): Place[] {
  const what = problem.demands[demand]!;
  const bays = problem.bays.flatMap((bay, index) => (staticObstacle(problem, what, bay) ? [] : [index]));
  const found: Place[] = [];
  for (let day = 0; day < problem.days.length; day += 1)
    for (const bay of bays) {
      const result = placeAt(problem, demand, bay, day);
      if ('place' in result) found.push(result.place);
    }
  return found.sort((a, b) => a.cost - b.cost || a.day - b.day || a.bay - b.bay);
}

/** Minutes by day when work starts on a day: what does not fit takes whole days; null = the plan ends first. */
export function partsFrom(bay: PlanBay, day: number, minutes: number): PlacePart[] | null {
  const parts: PlacePart[] = [];
  let left = minutes;
  for (let index = day; index < bay.days.length; index += 1) {
    const open = openMinutes(bay.days[index]);
    if (open === 0) continue;
    const taken = Math.min(open, left);
    parts.push({ day: index, minutes: taken });
    left -= taken;
    if (left === 0) return parts;
  }
  return null;
}

function staticObstacle(problem: PlanProblem, what: Demand, bay: PlanBay): Obstacle | null {
  const lacks = what.features.filter((feature) => !bay.features.includes(feature));
  if (lacks.length > 0) return { limit: 'bay_lacks', text: `${bay.name} has no ${lacks.join(', ')}` };
  if (bay.depot !== what.depot && !problem.travel.has(travelKey(what.depot, bay.depot)))
    return {
      limit: 'no_travel',
      text: `${depotName(problem, what.depot)} sends no vehicles to ${depotName(problem, bay.depot)}`,
    };
  const able = problem.people.some(({ depot, skills }) => depot === bay.depot && hasAll(skills, what.skills));
  if (able) return null;
  const needs = what.skills.length > 0 ? ` who can do ${what.skills.join(' and ')}` : '';
  return { limit: 'nobody_has_skill', text: `Nobody at ${depotName(problem, bay.depot)}${needs}` };
}

function dayObstacle(problem: PlanProblem, what: Demand, bay: PlanBay, day: number): Obstacle | null {
  const date = problem.days[day];
  if (date === undefined) return { limit: 'past', text: 'The day is outside of the plan' };
  if (day < what.earliest)
    return { limit: 'too_early', text: `Not before ${problem.days[what.earliest] ?? 'the plan ends'}` };
  const open = bay.days[day]!;
  if (!isOpen(open)) return { limit: open.closed, text: open.why };
  return null;
}

function presenceObstacle(
  problem: PlanProblem,
  what: Demand,
  bay: PlanBay,
  { day, lastDay, parts }: { day: number; lastDay: number; parts: readonly PlacePart[] },
): Obstacle | null {
  for (let index = day; index <= lastDay; index += 1)
    if (what.mayCome[index] === false)
      return { limit: 'in_service', text: `${what.vehicle} is in service on ${problem.days[index]}` };
  for (const part of parts) {
    const someone = problem.people.some(
      ({ depot, skills, present }) => depot === bay.depot && present[part.day] && hasAll(skills, what.skills),
    );
    if (!someone) {
      const needs = what.skills.length > 0 ? ` who can do ${what.skills.join(' and ')}` : '';
      const where = depotName(problem, bay.depot);
      return { limit: 'nobody_free', text: `Nobody${needs} is at ${where} on ${problem.days[part.day]}` };
    }
  }
  return null;
}

const blocked = (limit: Obstacle['limit'], text: string): PlaceOrObstacle => ({ obstacle: { limit, text } });

export const minutesText = (minutes: number): string =>
  minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h${minutes % 60 === 0 ? '' : ` ${minutes % 60} min`}`;
