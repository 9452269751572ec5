import { type Demand, loadSolver, type PlanProblem, solvePlan } from '@tallybay/plan';
import { expect, it } from 'vitest';

const bay = (id: string, features: string[]) => ({
  ...{ id, name: id, depot: 'south', features, days: [{ fromMinute: 480, toMinute: 660 }] },
});
const demand = (id: string, features: string[], held: Demand['held']): Demand => ({
  ...{ id, vehicle: id, vehicleClass: 'van', depot: 'south', mayCome: [true], minutes: 60, skills: [], features },
  ...{ earliest: 0, latest: null, costPerDay: 1, latePerDay: 0, held },
});

// Found by the search over random shops: the only person works the pinned visit, so the pit stays without one.
it('gives a pinned visit its person even where nothing else could use its bay', async () => {
  const problem: PlanProblem = {
    ...{ days: ['2026-11-23'], bays: [bay('plain', []), bay('pit', ['pit'])], spares: [], travel: new Map() },
    people: [{ id: 'p', name: 'p', depot: 'south', skills: [], present: [true] }],
    demands: [demand('a', [], { bay: 0, day: 0, fromMinute: 480, hold: 'pinned' }), demand('b', ['pit'], null)],
    rules: { horizonDays: 1, moveCost: 1, travelCostPerHour: 1, beyondDays: 5, leastWeight: 0 },
  };
  const plan = solvePlan(problem, { highs: await loadSolver(), seconds: 5, clockMs: () => performance.now() });
  expect(plan).toMatchObject({ optimal: true, leftOut: [1] });
});
