import {
  type Demand,
  depotName,
  hasAll,
  isOpen,
  type Placement,
  type PlanProblem,
  travelKey,
} from '../model/problem.js';

export interface Violation {
  rule:
    | 'closed_day'
    | 'outside_hours'
    | 'bay_overlap'
    | 'bay_lacks'
    | 'no_person'
    | 'person_twice'
    | 'skill'
    | 'vehicle_twice'
    | 'spares'
    | 'in_service'
    | 'no_travel'
    | 'too_early'
    | 'minutes'
    | 'pin_moved'
    | 'dropped'
    | 'placed_twice';
  demand: number | null;
  text: string;
}

/**
 * Whether a plan can be carried out, looked at minute by minute and person by person; knows nothing of how it was made.
 * @param leftOut demands that the plan says it leaves out; any other demand must be placed once
 */
export function checkPlan(
  problem: PlanProblem,
  placements: readonly Placement[],
  leftOut: readonly number[] = [],
): Violation[] {
  return [
    ...complete(problem, placements, leftOut),
    ...placements.flatMap((placement) => alone(problem, placement)),
    ...bays(problem, placements),
    ...people(placements),
    ...fleet(problem, placements),
  ];
}

function complete(problem: PlanProblem, placements: readonly Placement[], leftOut: readonly number[]): Violation[] {
  return [...problem.demands.entries()].flatMap(([demand, { id, held }]): Violation[] => {
    const mine = placements.filter((placement) => placement.demand === demand);
    if (mine.length > 1) return [{ rule: 'placed_twice', demand, text: `${id} is placed ${mine.length} times` }];
    if (mine.length === 0 && !leftOut.includes(demand))
      return [{ rule: 'dropped', demand, text: `${id} is neither placed nor said to wait` }];
    if (held?.hold !== 'pinned') return [];
    const kept = mine[0]?.bay === held.bay && mine[0].day === held.day;
    return kept ? [] : [{ rule: 'pin_moved', demand, text: `${id} is pinned and was moved` }];
  });
}

function alone(problem: PlanProblem, { demand, bay, day, lastDay, parts }: Placement): Violation[] {
  const what = problem.demands[demand]!;
  const where = problem.bays[bay]!;
  const found: Violation[] = [];
  const say = (rule: Violation['rule'], text: string) => found.push({ rule, demand, text: `${what.id}: ${text}` });
  if (!hasAll(where.features, what.features)) say('bay_lacks', `${where.name} lacks ${what.features.join(', ')}`);
  if (where.depot !== what.depot && !problem.travel.has(travelKey(what.depot, where.depot)))
    say('no_travel', `${depotName(problem, what.depot)} sends nothing to ${depotName(problem, where.depot)}`);
  if (day < what.earliest) say('too_early', `day ${day} is before ${what.earliest}`);
  for (let at = day; at <= lastDay; at += 1)
    if (what.mayCome[at] === false) say('in_service', `in service on ${problem.days[at]}`);
  const total = parts.reduce((sum, { minutes }) => sum + minutes, 0);
  if (total !== what.minutes) say('minutes', `${total} minutes planned of ${what.minutes}`);
  for (const part of parts) {
    const open = where.days[part.day];
    if (!isOpen(open)) say('closed_day', `${where.name} is closed on ${problem.days[part.day]}`);
    else if (part.fromMinute < open.fromMinute || part.fromMinute + part.minutes > open.toMinute)
      say('outside_hours', `outside of opening hours on ${problem.days[part.day]}`);
    const person = part.person === null ? undefined : problem.people[part.person];
    if (!person) say('no_person', `nobody works it on ${problem.days[part.day]}`);
    else if (!person.present[part.day] || person.depot !== where.depot)
      say('no_person', `${person.name} is not at ${depotName(problem, where.depot)} on ${problem.days[part.day]}`);
    else if (!hasAll(person.skills, what.skills)) say('skill', `${person.name} cannot do ${what.skills.join(', ')}`);
  }
  return found;
}

function bays(problem: PlanProblem, placements: readonly Placement[]): Violation[] {
  const slots = placements.flatMap(({ demand, bay, parts }) => parts.map((part) => ({ demand, bay, ...part })));
  const byCell = Map.groupBy(slots, ({ bay, day }) => `${bay} ${day}`);
  return [...byCell.values()].flatMap((cell) => {
    const order = [...cell].sort((a, b) => a.fromMinute - b.fromMinute);
    return order.flatMap((slot, index): Violation[] => {
      const before = order[index - 1];
      if (!before || before.fromMinute + before.minutes <= slot.fromMinute) return [];
      const text = `${nameOf(problem, before.demand)} and ${nameOf(problem, slot.demand)} overlap in ${problem.bays[slot.bay]!.name} on ${problem.days[slot.day]}`;
      return [{ rule: 'bay_overlap', demand: slot.demand, text }];
    });
  });
}

function people(placements: readonly Placement[]): Violation[] {
  const work = placements.flatMap(({ bay, parts }) => parts.map(({ day, person }) => ({ bay, day, person })));
  const at = new Map<string, Set<number>>();
  const inBay = new Map<string, Set<number>>();
  for (const { bay, day, person } of work) {
    if (person === null) continue;
    add(at, `${person} ${day}`, bay);
    add(inBay, `${bay} ${day}`, person);
  }
  const twice = (kind: string) => (key: string) => ({
    rule: 'person_twice' as const,
    demand: null,
    text: `${kind} ${key}: one person works one bay a day`,
  });
  return [
    ...[...at].filter(([, where]) => where.size > 1).map(([key]) => twice('person and day')(key)),
    ...[...inBay].filter(([, who]) => who.size > 1).map(([key]) => twice('bay and day')(key)),
  ];
}

function fleet(problem: PlanProblem, placements: readonly Placement[]): Violation[] {
  const found: Violation[] = [];
  for (let day = 0; day < problem.days.length; day += 1) {
    const away = placements.filter((placement) => placement.day <= day && day <= placement.lastDay);
    const seen = new Set<string>();
    for (const { demand } of away) {
      const { vehicle } = problem.demands[demand]!;
      if (seen.has(vehicle))
        found.push({ rule: 'vehicle_twice', demand, text: `${vehicle} has two visits on ${problem.days[day]}` });
      seen.add(vehicle);
    }
    for (const limit of problem.spares) {
      const count = away.filter(({ demand }) => countsFor(limit, problem.demands[demand]!)).length;
      if (count > limit.count)
        found.push({
          ...{ rule: 'spares', demand: null },
          text: `${count} of ${limit.vehicleClass} in the shop on ${problem.days[day]}, ${limit.count} can be spared`,
        });
    }
  }
  return found;
}

const countsFor = (limit: PlanProblem['spares'][number], what: Demand): boolean =>
  limit.vehicleClass === what.vehicleClass && (limit.depot === null || limit.depot === what.depot);
const nameOf = (problem: PlanProblem, demand: number): string => problem.demands[demand]!.id;

function add<K, V>(map: Map<K, Set<V>>, key: K, value: V): void {
  const set = map.get(key) ?? new Set();
  map.set(key, set.add(value));
}
