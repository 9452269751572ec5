import { checkPlan, firstFreeBay, lateDays, loadSolver, solvePlan, whyNot } from '@tallybay/plan';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shopCase } from '../../../bench/plan/shop-case.js';
import { cheapestOfAll } from './every-plan.js';
import { smallCase } from './small-case.js';

const highs = await loadSolver();
const clockMs = () => performance.now();
const solve = (problem: Parameters<typeof solvePlan>[0], seconds = 20) =>
  solvePlan(problem, { highs, seconds, clockMs });

describe('solvePlan', () => {
  it('finds the plan of least cost among all plans', () => {
    fc.assert(
      fc.property(smallCase(4), (problem) => {
        const plan = solve(problem);
        // A pin that breaks a limit makes every plan infeasible to the checker; the planner keeps it and says so.
        fc.pre(plan.conflicts.length === 0);
        expect(plan.optimal).toBe(true);
        expect(plan.cost).toBeCloseTo(cheapestOfAll(problem), 5);
        expect(plan.bound).toBeLessThanOrEqual(plan.cost + 1e-6);
      }),
      { numRuns: 80 },
    );
  }, 60_000);

  it('keeps every rule: hours, closed days, people, vehicles, spares, pins, nothing dropped', () => {
    fc.assert(
      fc.property(smallCase(9), (problem) => {
        const plan = solve(problem);
        // A pin that breaks a limit stays and is named; whatever stands in its bay on its days is for a person to sort out.
        const disputed = new Set(
          plan.conflicts.flatMap(({ demand }) => {
            const pin = plan.placements.find((item) => item.demand === demand)!;
            return pin.parts.map(({ day }) => `${pin.bay} ${day}`);
          }),
        );
        const clear = plan.placements.filter(({ bay, parts }) =>
          parts.every(({ day }) => !disputed.has(`${bay} ${day}`)),
        );
        const aside = plan.placements.filter((item) => !clear.includes(item)).map(({ demand }) => demand);
        const pinsAside = (rule: string) => rule === 'pin_moved' && aside.length > 0;
        const violations = checkPlan(problem, clear, [...plan.leftOut, ...aside]).filter(
          ({ rule }) => !pinsAside(rule),
        );
        expect(violations).toEqual([]);
      }),
      { numRuns: 80 },
    );
  }, 60_000);

  it('explains what is late and what is left out', () => {
    fc.assert(
      fc.property(smallCase(9), (problem) => {
        const plan = solve(problem);
        for (const demand of plan.leftOut) {
          const why = whyNot(plan.board, demand, problem.days.length - 1);
          const places = why.reduce((sum, { places: count }) => sum + count, 0);
          // A place that stands open would be cheaper than leaving the work out: all of them must be closed by some limit.
          expect(places).toBe(problem.bays.length * problem.days.length);
        }
        for (const place of plan.board.placed) {
          if (!place || lateDays(problem, place) === 0 || problem.demands[place.demand]!.held) continue;
          const { latest, latePerDay, costPerDay } = problem.demands[place.demand]!;
          if (latest! < 0 || latePerDay + costPerDay === 0) continue;
          expect(whyNot(plan.board, place.demand, latest!).length).toBeGreaterThan(0);
        }
      }),
      { numRuns: 60 },
    );
  }, 60_000);

  it('moves booked visits only where that saves more than the move costs', () => {
    const problem = shopCase({ seed: 5, inspections: 24, bays: 2, workingDays: 5 });
    const first = solve(problem);
    const booked = problem.demands.map((demand, index) => {
      const placement = first.placements.find((item) => item.demand === index);
      if (!placement) return demand;
      const { bay, day } = placement;
      return { ...demand, held: { bay, day, fromMinute: placement.parts[0]!.fromMinute, hold: 'booked' as const } };
    });
    const again = solve({ ...problem, demands: booked });
    const moved = again.placements.filter(({ demand, bay, day }) => {
      const held = booked[demand]!.held;
      return held && (held.bay !== bay || held.day !== day);
    });
    expect(moved).toEqual([]);
  });

  it('beats the list by rank on a larger shop, within its bound', () => {
    const problem = shopCase({ seed: 3, inspections: 120, bays: 4, workingDays: 8 });
    const plan = solve(problem, 3);
    const rank = [...problem.demands.keys()].sort(
      (a, b) => problem.demands[b]!.costPerDay - problem.demands[a]!.costPerDay,
    );
    expect(checkPlan(problem, plan.placements, plan.leftOut)).toEqual([]);
    expect(plan.bound).toBeLessThanOrEqual(plan.cost);
    expect(plan.cost).toBeLessThan(firstFreeBay(problem, rank).cost);
  });
});
