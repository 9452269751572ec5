import { checkPlan, costAt, costLeftOut, isOpen, type Placement, type PlanProblem } from '@tallybay/plan';

/**
 * Least cost over all plans there are, by trying each: every demand in every bay and day or left out, in every order within
 * the day, with every staffing. It uses the checker and the prices, nothing of the planner.
 */
export function cheapestOfAll(problem: PlanProblem): number {
  let best = Number.POSITIVE_INFINITY;
  const chosen: ({ bay: number; day: number } | null)[] = [];
  const visit = (demand: number, cost: number): void => {
    if (cost >= best) return;
    if (demand === problem.demands.length) {
      if (feasible(problem, chosen)) best = cost;
      return;
    }
    const what = problem.demands[demand]!;
    for (let bay = 0; bay < problem.bays.length; bay += 1)
      for (let day = 0; day < problem.days.length; day += 1) {
        if (what.held?.hold === 'pinned' && (what.held.bay !== bay || what.held.day !== day)) continue;
        chosen[demand] = { bay, day };
        visit(demand + 1, cost + costAt(problem, what, bay, day));
      }
    if (what.held?.hold === 'pinned') return;
    chosen[demand] = null;
    visit(demand + 1, cost + costLeftOut(problem, what));
  };
  visit(0, 0);
  return best;
}

function feasible(problem: PlanProblem, chosen: readonly ({ bay: number; day: number } | null)[]): boolean {
  const placements: Placement[] = [];
  const ends = new Map<string, number>();
  // Work that goes over a day's end takes the first minutes of the next: longest first puts it before the others.
  const order = [...chosen.keys()].sort((a, b) => problem.demands[b]!.minutes - problem.demands[a]!.minutes);
  for (const pass of ['over', 'within'])
    for (const demand of order) {
      const at = chosen[demand];
      if (!at) continue;
      const open = problem.bays[at.bay]!.days[at.day]!;
      if (!isOpen(open)) return false;
      const over = problem.demands[demand]!.minutes > open.toMinute - open.fromMinute;
      if ((pass === 'over') !== over) continue;
      const parts = lay(problem, { ...at, minutes: problem.demands[demand]!.minutes }, ends);
      if (!parts) return false;
      placements.push({ demand, bay: at.bay, day: at.day, lastDay: parts.at(-1)!.day, parts });
    }
  return staffings(problem, placements).some((plan) => checkPlan(problem, plan, leftOutOf(chosen)).length === 0);
}

const leftOutOf = (chosen: readonly unknown[]): number[] =>
  [...chosen.entries()].filter(([, at]) => at === null).map(([demand]) => demand);

function lay(
  problem: PlanProblem,
  { bay, day, minutes }: { bay: number; day: number; minutes: number },
  ends: Map<string, number>,
): Placement['parts'] | null {
  const parts: { day: number; minutes: number; fromMinute: number; person: null }[] = [];
  let left = minutes;
  for (let at = day; at < problem.days.length && left > 0; at += 1) {
    const open = problem.bays[bay]!.days[at]!;
    if (!isOpen(open)) continue;
    const from = ends.get(`${bay} ${at}`) ?? open.fromMinute;
    const taken = Math.min(left, open.toMinute - open.fromMinute);
    parts.push({ day: at, minutes: taken, fromMinute: from, person: null });
    ends.set(`${bay} ${at}`, from + taken);
    left -= taken;
  }
  return left === 0 ? parts : null;
}

/** The placements with every way to give each worked bay and day a person. */
function staffings(problem: PlanProblem, placements: readonly Placement[]): Placement[][] {
  const cells = [...new Set(placements.flatMap(({ bay, parts }) => parts.map(({ day }) => `${bay} ${day}`)))];
  const people = [...problem.people.keys()];
  // Days do not share people: each day's assignments are tried on their own, and the checker sees the first that works.
  const who = new Map<string, number>();
  for (const day of new Set(cells.map((cell) => cell.split(' ')[1]!))) {
    const mine = cells.filter((cell) => cell.endsWith(` ${day}`));
    const today = placements.filter(({ parts }) => parts.some((part) => String(part.day) === day));
    const found = tuples(people, mine.length).find((tuple) => {
      const local = new Map(mine.map((cell, index) => [cell, tuple[index]!]));
      return staffRules(problem, withPeople(today, local), Number(day));
    });
    if (!found) return [];
    for (const [index, cell] of mine.entries()) who.set(cell, found[index]!);
  }
  return [withPeople(placements, who)];
}

function staffRules(problem: PlanProblem, placements: readonly Placement[], day: number): boolean {
  const today = placements.map((placement) => ({
    ...placement,
    parts: placement.parts.filter((part) => part.day === day),
  }));
  const rules = new Set(['no_person', 'skill', 'person_twice']);
  return !checkPlan(problem, today).some(({ rule }) => rules.has(rule));
}

const withPeople = (placements: readonly Placement[], who: ReadonlyMap<string, number>): Placement[] =>
  placements.map((placement) => ({
    ...placement,
    parts: placement.parts.map((part) => ({ ...part, person: who.get(`${placement.bay} ${part.day}`) ?? null })),
  }));

const tuples = (values: readonly number[], length: number): number[][] =>
  length === 0 ? [[]] : tuples(values, length - 1).flatMap((rest) => values.map((value) => [...rest, value]));
