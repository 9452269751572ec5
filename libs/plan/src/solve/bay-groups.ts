import { openMinutes, type PlanProblem } from '../model/problem.js';

/** Bays that the model does not tell apart. */
export interface BayGroup {
  depot: string;
  bays: readonly number[];
}

/** Each bay for itself: the model is exact. */
export const singleBays = (problem: PlanProblem): BayGroup[] =>
  problem.bays.map(({ depot }, bay) => ({ depot, bays: [bay] }));

/** Equal bays as one, their time added up: smaller, without the symmetry of equal bays, and a bound for the exact model. */
export function equalBays(problem: PlanProblem): BayGroup[] {
  const keyOf = (bay: number) => {
    const { depot, features, days } = problem.bays[bay]!;
    return JSON.stringify([depot, [...features].sort(), days.map((day) => openMinutes(day))]);
  };
  const groups = Map.groupBy(problem.bays.keys(), keyOf);
  return [...groups.values()].map((bays) => ({ depot: problem.bays[bays[0]!]!.depot, bays }));
}

/** People that the model does not tell apart: same depot, same skills among those that are asked for. */
export interface PersonGroup {
  depot: string;
  skills: readonly string[];
  /** Indices of the problem's people. */
  members: readonly number[];
  /** Present on each day. */
  count: readonly number[];
}

export function personGroups(problem: PlanProblem): PersonGroup[] {
  const asked = new Set(problem.demands.flatMap(({ skills }) => skills));
  const groups = Map.groupBy(problem.people.keys(), (index) => {
    const { depot, skills } = problem.people[index]!;
    return JSON.stringify([depot, skills.filter((skill) => asked.has(skill)).sort()]);
  });
  return [...groups].map(([key, members]) => {
    const [depot, skills] = JSON.parse(key) as [string, string[]];
    const present = (day: number) => members.filter((index) => problem.people[index]!.present[day]).length;
    return { depot, skills, members, count: problem.days.map((_, day) => present(day)) };
  });
}
