import { classifyError, type PlanRun, TallybayError } from '@tallybay/contracts';
import type { PlannedVisit } from '@tallybay/plan';
import type { NewVisit, StoredVisit, VisitDocument, VisitPlace } from '@tallybay/registry';
import { type BoardReader, holdInPlan } from './board-reader.js';
import type { InspectionDesk } from './inspection-desk.js';
import type { PlanNews } from './plan-news.js';
import type { Solver } from './solver.js';

export interface ShopPlannerParts {
  board: BoardReader;
  desk: InspectionDesk;
  solver: Solver;
  news: PlanNews;
}

const IDLE: PlanRun = {
  ...{ state: 'idle', startedAt: null, seconds: 0, cost: null, bound: null, report: null, problem: null },
};

/** Makes plans, one at a time in this process; two processes notice each other by the board's version. */
export class ShopPlanner {
  private current: PlanRun = IDLE;
  private running: Promise<void> | null = null;

  constructor(private readonly parts: ShopPlannerParts) {}

  run(): PlanRun {
    return this.current;
  }

  /** Starts planning; `run()` tells how far it is. @throws TallybayError `plan_running`, `shop_missing` */
  async start(seconds: number, by: string | null): Promise<PlanRun> {
    if (this.running)
      throw new TallybayError('plan_running', `A plan has been in the making since ${this.current.startedAt}`, {
        advice: 'Wait for it: GET /v1/plan/run tells how far it is',
      });
    const { shop } = this.parts.board;
    this.current = { ...IDLE, state: 'running', startedAt: new Date(shop.nowMs()).toISOString() };
    const work = this.plan(seconds, by).then(
      (report) => {
        this.current = { ...this.current, state: 'done', report };
      },
      (thrown: unknown) => {
        const { code, message, options } = classifyError(thrown);
        const problem = { code, detail: message, advice: options.advice ?? null };
        this.current = { ...this.current, state: 'failed', problem };
      },
    );
    this.running = work.finally(() => {
      this.running = null;
    });
    return this.current;
  }

  /** Until the plan that is being made is there, if there is one. */
  async settled(): Promise<void> {
    await this.running;
  }

  private async plan(seconds: number, by: string | null): Promise<PlanRun['report']> {
    const { board, desk, solver, news } = this.parts;
    const inspections = await desk.refresh();
    const standing = await board.read(inspections, holdInPlan);
    const atIso = new Date(board.shop.nowMs()).toISOString();
    const { visits, report } = await solver({ plan: standing.plan, seconds, atIso }, (progress) => {
      this.current = { ...this.current, ...progress, cost: Number.isFinite(progress.cost) ? progress.cost : null };
    });
    const before = new Map(standing.visits.map((visit) => [visit.id, visit]));
    const placed = new Set(visits.flatMap(({ work }) => work.visit ?? []));
    const classes = new Map((await board.registry.vehicles.list()).map(({ id, vehicleClass }) => [id, vehicleClass]));
    await board.registry.work.applyPlan({
      ...{ boardVersion: standing.version, report, by },
      created: visits.filter(({ work }) => work.visit === null).map((visit) => newVisit(visit, classes)),
      moved: visits.flatMap((visit) => {
        const now = visit.work.visit === null ? undefined : before.get(visit.work.visit);
        return now && differs(now, visit) ? [{ ...placeOf(visit), ...contentOf(visit), id: now.id }] : [];
      }),
      removed: standing.visits.filter(({ id }) => !placed.has(id)).map(({ id }) => id),
    });
    void news.tell();
    return report;
  }
}

export const placeOf = ({ depot, bay, day, lastDay, person, parts }: PlannedVisit): VisitPlace => ({
  ...{ depot, bay, day, lastDay, person, parts },
});

function contentOf({ work, minutes }: PlannedVisit): Pick<VisitDocument, 'minutes' | 'inspections'> {
  return {
    minutes,
    inspections: work.inspections.map(({ id, kind, label, why }) => ({
      ...{ id, kind, label, why: why.slice(0, 3).map(({ text }) => text) },
    })),
  };
}

function newVisit(visit: PlannedVisit, classes: ReadonlyMap<string, string>): NewVisit {
  const { vehicle } = visit.work;
  return {
    ...{ ...placeOf(visit), ...contentOf(visit), vehicle, vehicleClass: classes.get(vehicle) ?? '' },
    ...{ note: null, findings: null, used: [] },
  };
}

/** Reasons alone are no change: calendars need not hear of them. */
function differs(now: StoredVisit, next: PlannedVisit): boolean {
  const key = (visit: VisitPlace, minutes: number, ids: readonly string[]) =>
    JSON.stringify([visit.bay, visit.day, visit.person, visit.parts, minutes, [...ids].sort()]);
  const ids = next.work.inspections.map(({ id }) => id);
  return (
    key(
      now,
      now.minutes,
      now.inspections.map(({ id }) => id),
    ) !== key(placeOf(next), next.minutes, ids)
  );
}
