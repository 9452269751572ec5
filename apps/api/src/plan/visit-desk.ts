import { type PlaceCheck, TallybayError, type WorkState } from '@tallybay/contracts';
import {
  Board,
  boardWithPins,
  lateDays,
  obstaclesAt,
  pinnedPlaces,
  placeAt,
  plannedVisits,
  type ShopPlan,
  sequence,
} from '@tallybay/plan';
import type { StoredVisit, VisitChange, VisitEdit } from '@tallybay/registry';
import type { BoardReader } from './board-reader.js';
import type { PlanNews } from './plan-news.js';
import { placeOf } from './shop-planner.js';

/** Which steps lead from where; a step that is not here is refused. */
const STEPS: Record<'booked' | 'in_the_bay' | 'done', readonly WorkState[]> = {
  booked: ['proposed'],
  in_the_bay: ['proposed', 'booked'],
  done: ['proposed', 'booked', 'in_the_bay'],
};

/** A move is a matter of milliseconds; more than this many changes of the board within them is a crowd. */
const MOST_TURNS = 4;

interface Standing {
  plan: ShopPlan;
  board: Board;
  demand: number;
  visit: StoredVisit;
  /** The board's version that all of this was read from. */
  version: number;
}

export interface Edit {
  id: string;
  expectedVersion: number | undefined;
  by: string | null;
}

/** What people do with visits: look where one could go, move it, pin it, and take it through its states. */
export class VisitDesk {
  constructor(
    private readonly board: BoardReader,
    private readonly news: PlanNews,
  ) {}

  /** What each bay and day would say to the visit. @throws TallybayError `record_unknown`, `shop_missing` */
  async places(id: string): Promise<PlaceCheck[]> {
    const { plan, board, demand } = await this.standing(id);
    const { problem } = plan;
    return problem.bays.flatMap(({ id: bay }, index) =>
      problem.days.map((day, at) => {
        const limits = obstaclesAt(board, demand, { bay: index, day: at });
        const late = lateDays(problem, { demand, day: at });
        const warnings = late > 0 ? [`${late === 1 ? '1 day' : `${late} days`} past its latest date`] : [];
        return { bay, day, fits: limits.length === 0, limits, warnings };
      }),
    );
  }

  /**
   * Moves a visit and pins it there: a person chose the place.
   * @throws TallybayError `place_taken` with the limit that stands against it, `edit_conflict`, `record_unknown`
   */
  async move(edit: Edit, to: { bay: string; day: string }): Promise<StoredVisit> {
    for (let turn = 1; ; turn++)
      try {
        return await this.moveOnce(edit, to);
      } catch (thrown) {
        // Somebody changed another visit meanwhile: whether the place is still free is asked again on the board as it is now.
        const conflict = thrown instanceof TallybayError && thrown.code === 'edit_conflict';
        if (!conflict || turn === MOST_TURNS || (await this.isChanged(edit))) throw thrown;
      }
  }

  private async isChanged({ id, expectedVersion }: Edit): Promise<boolean> {
    return expectedVersion !== undefined && (await this.open(id)).version !== expectedVersion;
  }

  private async moveOnce({ id, expectedVersion, by }: Edit, to: { bay: string; day: string }): Promise<StoredVisit> {
    const { plan, board, demand, visit, version } = await this.standing(id);
    const { problem } = plan;
    const at = { bay: problem.bays.findIndex((bay) => bay.id === to.bay), day: problem.days.indexOf(to.day) };
    if (at.bay < 0) throw refused(visit, to, `there is no bay ${to.bay}`);
    const [limit] = obstaclesAt(board, demand, at);
    if (limit) throw refused(visit, to, limit.text);
    const result = placeAt(problem, demand, at.bay, at.day);
    if ('obstacle' in result) throw refused(visit, to, result.obstacle.text);
    board.take(demand);
    board.put(result.place);
    const planned = plannedVisits(plan, { placements: sequence(board) });
    const mine = planned.find(({ work }) => work.visit === id)!;
    const edits: VisitEdit[] = [{ id, expectedVersion, change: { ...placeOf(mine), pinned: true } }];
    // Others of the same day may have made room or changed places with another person.
    const others = planned.filter(({ work }) => work.visit !== null && work.visit !== id);
    for (const other of others) {
      const now = await this.board.registry.work.visit(other.work.visit!);
      if (now && JSON.stringify([now.parts, now.person]) !== JSON.stringify([other.parts, other.person]))
        edits.push({ id: now.id, expectedVersion: now.version, change: placeOf(other) });
    }
    const changed = await this.board.registry.work.changeAll(edits, by, version);
    void this.news.tell();
    return changed[0]!;
  }

  /** @throws TallybayError `edit_conflict`, `record_unknown` */
  pin(edit: Edit, pinned: boolean): Promise<StoredVisit> {
    return this.changed(edit, { pinned }, () => {});
  }

  /** @throws TallybayError `visit_state`, `edit_conflict`, `record_unknown` */
  step(edit: Edit, state: keyof typeof STEPS, change: VisitChange = {}): Promise<StoredVisit> {
    return this.changed(edit, { ...change, state }, (visit) => {
      if (STEPS[state].includes(visit.state)) return;
      const from = `That is possible while it is ${STEPS[state].map(words).join(' or ')}`;
      throw wrongState(visit, `; it cannot become ${words(state)}`, from);
    });
  }

  /** @throws TallybayError `visit_state`, `edit_conflict`, `record_unknown` */
  async decline({ id, expectedVersion, by }: Edit, reason: string): Promise<StoredVisit> {
    const allow = (visit: StoredVisit) => {
      if (visit.state === 'done' || visit.state === 'declined')
        throw wrongState(visit, ' already', 'What is done stays in the history of the vehicle');
    };
    const declined = await this.board.registry.work.decline({ id, expectedVersion, allow }, reason, by);
    void this.news.tell();
    return declined;
  }

  /** Books everything that is proposed. @returns the visits that were booked */
  async bookAll(by: string | null): Promise<StoredVisit[]> {
    const today = await this.board.shop.today();
    const proposed = (await this.board.registry.work.visits({ from: today })).filter(
      ({ state }) => state === 'proposed',
    );
    const edits = proposed.map(({ id, version }) => ({
      id,
      expectedVersion: version,
      change: { state: 'booked' } as const,
    }));
    const booked = await this.board.registry.work.changeAll(edits, by);
    void this.news.tell();
    return booked;
  }

  private async changed(
    { id, expectedVersion, by }: Edit,
    change: VisitChange,
    allow: (now: StoredVisit) => void,
  ): Promise<StoredVisit> {
    const visit = await this.board.registry.work.change({ id, expectedVersion, change, allow }, by);
    void this.news.tell();
    return visit;
  }

  private async open(id: string): Promise<StoredVisit> {
    const visit = await this.board.registry.work.visit(id);
    if (visit && visit.cancelledAtMs === null) return visit;
    throw new TallybayError('record_unknown', `There is no visit ${id}, or it was taken from the plan`, {
      advice: 'GET /v1/plan lists the visits',
    });
  }

  /** The board with every visit where it stands, and the one that is asked about. */
  private async standing(id: string): Promise<Standing> {
    const visit = await this.open(id);
    const inspections = await this.board.registry.inspections.list({ states: ['proposed', 'booked', 'in_the_bay'] });
    const inVisits = inspections.filter((item) => item.visit !== null);
    const { plan, version } = await this.board.read(inVisits, (item) => (item.id === id ? 'proposed' : 'pinned'));
    const demand = plan.work.findIndex((row) => row.visit === id);
    if (demand < 0)
      throw wrongState(
        visit,
        '; it stays where it was',
        'Only visits that are proposed, booked or in the bay can be moved',
      );
    const board = boardWithPins(plan.problem, pinnedPlaces(plan.problem));
    return { plan, board, demand, visit, version };
  }
}

const words = (state: WorkState): string => state.replaceAll('_', ' ');

const wrongState = (visit: StoredVisit, what: string, advice: string): TallybayError =>
  new TallybayError('visit_state', `The visit of ${visit.vehicle} is ${words(visit.state)}${what}`, { advice });

const refused = (visit: StoredVisit, to: { bay: string; day: string }, why: string): TallybayError =>
  new TallybayError(
    'place_taken',
    `${visit.vehicle} cannot be in ${to.bay} on ${to.day}: ${why.charAt(0).toLowerCase()}${why.slice(1)}`,
    {
      advice: 'GET the visit’s places: it says for each bay and day whether it fits, and what stands against it',
    },
  );
