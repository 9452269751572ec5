import type { Highs } from 'highs';
import { hasAll, type Place, type PlanProblem } from '../model/problem.js';
import type { BayGroup } from './bay-groups.js';
import { Board } from './board.js';
import type { Pinned } from './pins.js';
import { type PlanModel, planModel } from './plan-model.js';
import { costOf } from './search.js';

export interface ModelParts {
  problem: PlanProblem;
  pinned: Pinned;
  places: readonly (readonly Place[])[];
  groups: readonly BayGroup[];
}

export interface Relaxation {
  /** No plan costs less. */
  bound: number;
  /** A plan with this place costs at least bound + reduced cost. */
  reduced: (place: Place) => number;
}

const HALF = 0.5;

/** The model without wholeness; null when it was not solved in the time. */
export function relaxation(parts: ModelParts, highs: Highs, seconds: number): Relaxation | null {
  const built = planModel({ ...parts, infinity: highs.infinity });
  return highs.withModel(built.model.data(true), (model) => {
    model.options.set({ output_flag: false, time_limit: seconds });
    model.run();
    if (model.getModelStatus() !== highs.constants.modelStatus.optimal) return null;
    const { colDual } = model.getSolution();
    const keyOf = placeKeys(parts.groups);
    const reduced = new Map(
      built.choices.map(({ place, column }) => [
        keyOf(place),
        { dual: Math.max(0, colDual[column]!), cost: place.cost },
      ]),
    );
    return {
      bound: model.getObjectiveValue() + built.fixedCost,
      reduced: (place: Place) => {
        const found = reduced.get(keyOf(place));
        return found ? found.dual + (place.cost - found.cost) : Infinity;
      },
    };
  });
}

/**
 * A rough plan to build from: whole people, work that may still be split. Its places, the surest first, each in a bay
 * whose person can do it. Null when nothing was found in the time.
 */
export function roughPlan(parts: ModelParts, highs: Highs, seconds: number): Place[] | null {
  const built = planModel({ ...parts, infinity: highs.infinity });
  return highs.withModel(
    built.model.data(false, (column) => built.staffColumns.has(column)),
    (model) => {
      model.options.set({ output_flag: false, time_limit: seconds, mip_rel_gap: 1e-3 });
      model.run();
      if (Number(model.info.get('primal_solution_status')) !== FEASIBLE) return null;
      const { colValue } = model.getSolution();
      const minutesOf = ({ demand }: Place) => parts.problem.demands[demand]!.minutes;
      const skillsOf = staffedSkills(parts, built, colValue);
      return (
        built.choices
          .filter(({ column }) => colValue[column]! > HALF)
          // Long work first: it is what finds no room later.
          .sort((a, b) => minutesOf(b.place) - minutesOf(a.place) || a.column - b.column)
          .flatMap(({ place }) => inGroup(parts, place, skillsOf))
      );
    },
  );
}

/** `primal_solution_status` of HiGHS: a feasible point is there. */
const FEASIBLE = 2;

/** `bay day` -> skills of the person who is to work there. */
function staffedSkills({ groups }: ModelParts, built: PlanModel, values: Float64Array): Map<string, readonly string[]> {
  const skills = new Map<string, readonly string[]>();
  for (const [key, staff] of built.staff) {
    const [group, day] = key.split(' ').map(Number) as [number, number];
    const people = staff.flatMap(({ people, column }) => Array<number>(Math.round(values[column]!)).fill(people));
    for (const [index, bay] of groups[group]!.bays.entries())
      if (people[index] !== undefined) skills.set(`${bay} ${day}`, built.people[people[index]]!.skills);
  }
  return skills;
}

/** The place in each bay of its group: those whose person can do the work, fewest other skills first. */
function inGroup(
  { places, groups, problem }: ModelParts,
  place: Place,
  skillsOf: Map<string, readonly string[]>,
): Place[] {
  const { bays } = groups.find((group) => group.bays.includes(place.bay))!;
  const needs = problem.demands[place.demand]!.skills;
  const spare = ({ bay, day }: Place) => skillsOf.get(`${bay} ${day}`)?.length ?? 0;
  return places[place.demand]!.filter(({ bay, day }) => day === place.day && bays.includes(bay))
    .filter(({ bay, day }) => hasAll(skillsOf.get(`${bay} ${day}`) ?? needs, needs))
    .sort((a, b) => spare(a) - spare(b));
}

const placeKeys = (groups: readonly BayGroup[]) => {
  const groupOf = new Map(groups.flatMap(({ bays }, group) => bays.map((bay) => [bay, group] as const)));
  return ({ demand, bay, day }: Place) => `${demand} ${groupOf.get(bay)} ${day}`;
};

interface ExactOptions {
  highs: Highs;
  seconds: number;
  tell: (cost: number, bound: number | null) => void;
  /** Relative distance to the bound at which to stop. */
  gap?: number;
}

/** The exact model over the given places, started from a plan; null when it found nothing. */
export function solveExact(
  parts: ModelParts,
  start: Board,
  { highs, seconds, tell, gap = 1e-7 }: ExactOptions,
): { board: Board; cost: number; bound: number } | null {
  const built = planModel({ ...parts, infinity: highs.infinity });
  return highs.withModel(built.model.data(false), (model) => {
    model.options.set({ output_flag: false, time_limit: seconds, mip_rel_gap: gap, mip_abs_gap: 1e-7 });
    model.setSolution({ colValue: startValues(parts, built, start) });
    model.run({
      [highs.constants.callbackType.mipImprovingSolution]({ data }) {
        tell((data.mip_primal_bound ?? Infinity) + built.fixedCost, (data.mip_dual_bound ?? 0) + built.fixedCost);
      },
    });
    const status = model.getModelStatus();
    const proven = status === highs.constants.modelStatus.optimal;
    const bound = Number(model.info.get('mip_dual_bound')) + built.fixedCost;
    const { colValue } = model.getSolution();
    const board = boardFrom(parts, built, colValue);
    if (!board) return null;
    const cost = costOf(parts.problem, board);
    return { board, cost, bound: proven ? Math.min(cost, Math.max(bound, cost - 1e-6 * Math.max(1, cost))) : bound };
  });
}

/** Null when the values are no plan: the solver stopped before it had one. */
function boardFrom({ problem, pinned }: ModelParts, built: PlanModel, values: Float64Array): Board | null {
  const board = new Board(problem);
  const disputed = new Set(pinned.conflicts.map(({ demand }) => demand));
  for (const place of pinned.places) {
    if (disputed.has(place.demand)) board.putDisputed(place);
    else board.put(place);
  }
  for (const { place, column } of built.choices) {
    if ((values[column] ?? 0) <= HALF) continue;
    if (board.placed[place.demand] || board.obstacle(place) !== null) return null;
    board.put(place);
  }
  return board;
}

function startValues({ problem }: ModelParts, built: PlanModel, start: Board): Float64Array {
  const values = new Float64Array(built.model.columns);
  for (const { place, column } of built.choices) {
    const now = start.placed[place.demand];
    if (now?.bay === place.bay && now.day === place.day) values[column] = 1;
  }
  // Left-out columns follow their demand's choices; a demand without any chosen place is left out.
  built.leftOut.forEach((column, demand) => {
    if (start.placed[demand] === null) values[column] = 1;
  });
  for (const [key, staff] of built.staff) {
    const [bay, day] = key.split(' ').map(Number) as [number, number];
    if (start.visitsIn(bay, day).length === 0) continue;
    const person = start.staffed(problem.bays[bay]!.depot, day)?.get(bay);
    if (person === undefined) continue;
    const mine = staff.find(({ people }) => built.members[people]!.has(person));
    if (mine) values[mine.column] = 1;
  }
  return values;
}
