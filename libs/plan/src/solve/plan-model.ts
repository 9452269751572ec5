import { costLeftOut } from '../model/costs.js';
import { hasAll, openMinutes, type Place, type PlanProblem } from '../model/problem.js';
import { type BayGroup, type PersonGroup, personGroups } from './bay-groups.js';
import { LinearModel } from './linear-model.js';
import type { Pinned } from './pins.js';

/** One way for one demand in the model. */
interface Choice {
  place: Place;
  column: number;
}

export interface PlanModel {
  model: LinearModel;
  choices: Choice[];
  /** Column of each staffed bay, for starting solutions: `group day` -> columns by person group. */
  staff: Map<string, { people: number; column: number }[]>;
  staffColumns: Set<number>;
  /** Demand -> column of leaving it out. */
  leftOut: Map<number, number>;
  groups: readonly BayGroup[];
  people: readonly PersonGroup[];
  /** Persons of each group. */
  members: readonly ReadonlySet<number>[];
  /** Cost of what is pinned. */
  fixedCost: number;
}

interface Parts {
  problem: PlanProblem;
  pinned: Pinned;
  groups: readonly BayGroup[];
  /** By demand; nothing for those that are pinned. */
  places: readonly (readonly Place[])[];
  infinity: number;
}

/**
 * The plan as a mixed-integer model. x = 1: this demand has this place; z: people of a group who work a bay (group) on a
 * day. Least cost, so that
 * - each demand has one place, or is left out at a cost;
 * - work in a bay on a day fits into the minutes of the people who are there, and the work that needs a skill into the
 *   minutes of those who have it;
 * - nobody works two bays on one day, and no bay has two people;
 * - no vehicle is in the shop twice on a day, and no more vehicles of a class than can be spared.
 */
export function planModel(parts: Parts): PlanModel {
  const { problem, pinned, groups, infinity } = parts;
  const model = new LinearModel(infinity);
  const people = personGroups(problem);
  const built: PlanModel = {
    ...{ model, groups, people, choices: [], staff: new Map(), staffColumns: new Set(), leftOut: new Map() },
    members: people.map(({ members }) => new Set(members)),
    fixedCost:
      pinned.places.reduce((sum, { cost }) => sum + cost, 0) +
      [...(pinned.leftOut ?? [])].reduce((sum, demand) => sum + costLeftOut(problem, problem.demands[demand]!), 0),
  };
  assignment(parts, built);
  staffing(parts, built);
  bayTime(parts, built);
  vehicles(parts, built);
  spares(parts, built);
  return built;
}

function assignment({ problem, pinned, groups, places, infinity }: Parts, built: PlanModel): void {
  const groupOf = new Map(groups.flatMap(({ bays }, group) => bays.map((bay) => [bay, group] as const)));
  const held = new Set([...pinned.places.map(({ demand }) => demand), ...(pinned.leftOut ?? [])]);
  for (const [demand, mine] of places.entries()) {
    if (held.has(demand)) continue;
    const seen = new Set<string>();
    const entries: [number, number][] = [];
    // Cheapest first, so of equal bays the one that costs least speaks for the group: that keeps it a bound.
    for (const place of mine) {
      const key = `${groupOf.get(place.bay)} ${place.day}`;
      if (seen.has(key)) continue;
      seen.add(key);
      const column = built.model.column(place.cost, 1, true);
      built.choices.push({ place, column });
      entries.push([column, 1]);
    }
    const out = built.model.column(costLeftOut(problem, problem.demands[demand]!), infinity, false);
    built.leftOut.set(demand, out);
    entries.push([out, 1]);
    built.model.equal(1, entries);
  }
}

/** Columns and rows for who works where; none where everybody can do everything and there are people for all bays. */
function staffing({ problem, groups }: Parts, built: PlanModel): void {
  const asked = [...new Set(problem.demands.flatMap(({ skills }) => skills))];
  for (const depot of new Set(problem.bays.map((bay) => bay.depot)))
    for (let day = 0; day < problem.days.length; day += 1) {
      const here = built.people.flatMap((group, index) =>
        group.depot === depot && group.count[day]! > 0 ? [{ group, index }] : [],
      );
      const open = openBays(problem, depot, day);
      const masters = here.find(({ group }) => hasAll(group.skills, asked));
      if (masters && masters.group.count[day]! >= open.length) continue;
      const columns = here.map(() => [] as [number, number][]);
      for (const [index, { bays, depot: at }] of groups.entries()) {
        const worked = at === depot ? bays.filter((bay) => open.includes(bay)) : [];
        if (worked.length === 0) continue;
        const mine = here.map(({ group, index: people }, position) => {
          const column = built.model.column(0, Math.min(worked.length, group.count[day]!), true);
          columns[position]!.push([column, 1]);
          built.staffColumns.add(column);
          return { people, column };
        });
        built.staff.set(`${index} ${day}`, mine);
        built.model.atMost(
          worked.length,
          mine.map(({ column }) => [column, 1]),
        );
      }
      for (const [position, { group }] of here.entries()) built.model.atMost(group.count[day]!, columns[position]!);
    }
}

const openBays = (problem: PlanProblem, depot: string, day: number): number[] =>
  problem.bays.flatMap((bay, index) => (bay.depot === depot && openMinutes(bay.days[day]) > 0 ? [index] : []));

/** Time of each bay (group) on each day, all of it and that of each set of skills that is asked for there. */
function bayTime({ problem, pinned, groups }: Parts, built: PlanModel): void {
  const groupOf = new Map(groups.flatMap(({ bays }, group) => bays.map((bay) => [bay, group] as const)));
  const work = new Map<string, { column: number; minutes: number; skills: readonly string[] }[]>();
  // A pinned visit needs its person even where nothing else could come beside it.
  for (const { bay, parts } of pinned.places) for (const { day } of parts) work.set(`${groupOf.get(bay)} ${day}`, []);
  for (const { place, column } of built.choices)
    for (const { day, minutes } of place.parts) {
      const key = `${groupOf.get(place.bay)} ${day}`;
      const list = work.get(key) ?? [];
      work.set(key, list);
      list.push({ column, minutes, skills: problem.demands[place.demand]!.skills });
    }
  for (const [key, list] of work) {
    const [group, day] = key.split(' ').map(Number) as [number, number];
    const bays = groups[group]!.bays.filter((bay) => !pinned.board.isDisputed(bay, day));
    const open = Math.max(0, ...bays.map((bay) => openMinutes(problem.bays[bay]!.days[day])));
    const pins = bays.flatMap((bay) => pinnedWork({ problem, pinned }, bay, day));
    const staff = built.staff.get(key);
    const sets = [
      [],
      ...distinct([...list, ...pins].map(({ skills }) => skills).filter((skills) => skills.length > 0)),
    ];
    for (const set of sets) {
      const total = pins.filter(({ skills }) => hasAll(skills, set)).reduce((sum, { minutes }) => sum + minutes, 0);
      const entries = list.filter(({ skills }) => hasAll(skills, set)).map((row) => [row.column, row.minutes] as const);
      if (!staff) {
        if (set.length === 0) built.model.atMost(Math.max(0, open * bays.length - total), entries);
        continue;
      }
      const able = staff.filter(({ people }) => hasAll(built.people[people]!.skills, set));
      built.model.atMost(-total, [...entries, ...able.map(({ column }) => [column, -open] as const)]);
    }
  }
}

function pinnedWork({ problem, pinned }: Pick<Parts, 'problem' | 'pinned'>, bay: number, day: number) {
  return pinned.board.visitsIn(bay, day).map(({ demand, parts }) => ({
    minutes: parts.find((part) => part.day === day)?.minutes ?? 0,
    skills: problem.demands[demand]!.skills,
  }));
}

function vehicles({ problem, pinned }: Parts, built: PlanModel): void {
  const pins = new Set(pinned.places.map(({ demand }) => problem.demands[demand]!.vehicle));
  const rows = new Map<string, [number, number][]>();
  const counts = new Map<string, number>();
  for (const { vehicle } of problem.demands) counts.set(vehicle, (counts.get(vehicle) ?? 0) + 1);
  for (const { place, column } of built.choices) {
    const { vehicle } = problem.demands[place.demand]!;
    if (counts.get(vehicle) === 1 && !pins.has(vehicle)) continue;
    for (let day = place.day; day <= place.lastDay; day += 1) push(rows, `${day} ${vehicle}`, [column, 1]);
  }
  const taken = new Set(
    pinned.places.flatMap(({ demand, day, lastDay }) =>
      Array.from({ length: lastDay - day + 1 }, (_, index) => `${day + index} ${problem.demands[demand]!.vehicle}`),
    ),
  );
  for (const [key, entries] of rows) built.model.atMost(taken.has(key) ? 0 : 1, entries);
}

function spares({ problem, pinned }: Parts, built: PlanModel): void {
  for (const { vehicleClass, depot, count } of problem.spares) {
    const counts = ({ demand }: Place) => {
      const what = problem.demands[demand]!;
      return what.vehicleClass === vehicleClass && (depot === null || what.depot === depot);
    };
    const rows = new Map<number, [number, number][]>();
    for (const { place, column } of built.choices)
      if (counts(place)) for (let day = place.day; day <= place.lastDay; day += 1) push(rows, day, [column, 1]);
    for (const [day, entries] of rows) {
      const away = pinned.places.filter((place) => counts(place) && place.day <= day && day <= place.lastDay).length;
      built.model.atMost(Math.max(0, count - away), entries);
    }
  }
}

const distinct = (sets: readonly (readonly string[])[]): (readonly string[])[] => [
  ...new Map(sets.map((set) => [[...set].sort().join('\n'), set])).values(),
];

function push<K>(rows: Map<K, [number, number][]>, key: K, entry: [number, number]): void {
  const row = rows.get(key) ?? [];
  rows.set(key, row);
  row.push(entry);
}
