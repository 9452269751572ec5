import type { PlanReport } from '@tallybay/contracts';
import type { Placement } from '../model/problem.js';
import { addDays, clockOfMinutes } from '../propose/dates.js';
import type { PlannedWork, ShopPlan } from '../propose/from-shop.js';
import type { SolvedPlan } from '../solve/solve-plan.js';
import { lateDays, movesOf, whyNot } from './explain.js';

/** Where a visit goes, in the shop's terms. */
export interface PlannedVisit {
  work: PlannedWork;
  depot: string;
  bay: string;
  day: string;
  lastDay: string;
  person: string | null;
  minutes: number;
  parts: { day: string; fromMinute: number; minutes: number }[];
}

/** The solved plan in the shop's terms, a visit for each placement. */
export function plannedVisits({ problem, work }: ShopPlan, plan: Pick<SolvedPlan, 'placements'>): PlannedVisit[] {
  return plan.placements.map((placement) => visitOf({ problem, work }, placement));
}

function visitOf({ problem, work }: ShopPlan, { demand, bay, day, lastDay, parts }: Placement): PlannedVisit {
  const person = parts[0]?.person ?? null;
  return {
    ...{ work: work[demand]!, depot: problem.bays[bay]!.depot, bay: problem.bays[bay]!.id },
    ...{ day: problem.days[day]!, lastDay: problem.days[lastDay]!, minutes: problem.demands[demand]!.minutes },
    person: person === null ? null : problem.people[person]!.id,
    parts: parts.map((part) => ({ day: problem.days[part.day]!, fromMinute: part.fromMinute, minutes: part.minutes })),
  };
}

/** What the planner has to say about its plan. @param atIso when it was made */
export function planReport({ problem, work }: ShopPlan, plan: SolvedPlan, atIso: string): PlanReport {
  const { board } = plan;
  const labels = (demand: number) => work[demand]!.inspections.map(({ label }) => label);
  const placeText = ({ bay, day }: { bay: number; day: number }) => {
    const from = plan.placements.find((item) => item.bay === bay && item.day === day)?.parts[0]?.fromMinute;
    return `${problem.bays[bay]!.name}, ${problem.days[day]}${from === undefined ? '' : ` ${clockOfMinutes(from)}`}`;
  };
  const late = board.placed.flatMap((place) => {
    const days = place ? lateDays(problem, place) : 0;
    if (!place || days === 0) return [];
    const { latest, earliest } = problem.demands[place.demand]!;
    const over = {
      limit: 'past' as const,
      places: 0,
      text: `It was due on ${addDays(problem.days[0]!, latest!)}, before it could be planned.`,
    };
    const why = latest! < Math.max(0, earliest) ? [over] : whyNot(board, place.demand, latest!);
    return [{ vehicle: problem.demands[place.demand]!.vehicle, inspections: labels(place.demand), days, why }];
  });
  return {
    ...{ at: atIso, from: problem.days[0]!, to: problem.days.at(-1)! },
    ...{ cost: round(plan.cost), bound: round(plan.bound), gap: plan.gap, seconds: round(plan.seconds) },
    ...{ optimal: plan.optimal, planned: plan.placements.length, late },
    moved: movesOf(board).map(({ demand, from, to, why }) => ({
      ...{ visit: work[demand]!.visit!, vehicle: work[demand]!.vehicle, why },
      from: `${problem.bays[from.bay]!.name}, ${problem.days[from.day]}`,
      to: to ? placeText(to) : 'not in the plan',
    })),
    waiting: plan.leftOut.map((demand) => ({
      ...{ vehicle: problem.demands[demand]!.vehicle, inspections: labels(demand) },
      why: whyNot(board, demand, problem.days.length - 1),
    })),
    conflicts: plan.conflicts.map(({ demand, obstacle }) => ({
      ...{
        visit: work[demand]!.visit ?? '',
        vehicle: work[demand]!.vehicle,
        text: `${obstacle.text}; the visit is pinned and stays`,
      },
    })),
  };
}

const round = (value: number): number => Math.round(value * 100) / 100;
