import { type PlanReport, type ShopPlanView, TallybayError, type Visit } from '@tallybay/contracts';
import { addDays, clockOfMinutes, isOpen, planFromShop } from '@tallybay/plan';
import type { Registry, StoredVisit } from '@tallybay/registry';
import { calendarFeed } from './calendar-feed.js';
import { type DaySheet, daySheetHtml } from './plan-papers.js';
import type { ShopReader } from './shop-reader.js';
import { visitView } from './visit-view.js';

const SHOWN_DAYS = 28;
/** A feed reaches so far back, and so far ahead. */
const FEED_DAYS = { back: 60, ahead: 200 };

/** The plan as people see it: the board, lists, papers and feeds. */
export class PlanView {
  constructor(
    private readonly registry: Registry,
    private readonly shop: ShopReader,
  ) {}

  async board(span: { from?: string | undefined; days?: number | undefined }): Promise<ShopPlanView> {
    const from = span.from ?? (await this.shop.today());
    const days = span.days ?? SHOWN_DAYS;
    const to = addDays(from, days - 1);
    const shop = await this.shop.shop();
    const rules = { ...shop.rules, horizonDays: days };
    const { problem } = planFromShop({
      today: from,
      shop: { ...shop, rules },
      vehicles: [],
      inspections: [],
      visits: [],
    });
    const board = await this.registry.work.board();
    const visits = await this.registry.work.visits({ from, to });
    const open = await this.registry.inspections.list({ states: ['proposed'] });
    const used = (bay: string, day: string) =>
      visits
        .filter((visit) => visit.bay === bay)
        .flatMap(({ parts }) => parts)
        .filter((part) => part.day === day)
        .reduce((sum, { minutes }) => sum + minutes, 0);
    return {
      ...{ version: board.version, from, to, report: board.report as PlanReport | null },
      bays: problem.bays.map(({ id, name, depot, features, days: opening }) => ({
        ...{ id, name, depot, features: [...features] },
        days: problem.days.map((day, index) => {
          const open = opening[index]!;
          const hours = isOpen(open)
            ? { from: clockOfMinutes(open.fromMinute), to: clockOfMinutes(open.toMinute), closed: null }
            : { from: null, to: null, closed: open.why };
          return { day, ...hours, usedMinutes: used(id, day) };
        }),
      })),
      visits: await this.views(visits),
      waiting: open.filter(({ visit }) => visit === null),
    };
  }

  async visits(filter: { vehicle?: string; from?: string; to?: string }): Promise<Visit[]> {
    return this.views(await this.registry.work.visits(filter));
  }

  async view(visit: StoredVisit): Promise<Visit> {
    return visitView(visit, await this.shop.zoneOf(visit.depot));
  }

  /** A visit that went to another depot is cancelled here. @throws TallybayError `record_unknown` */
  async depotFeed(depot: string): Promise<string> {
    const found = (await this.shop.depots()).find(({ id }) => id === depot);
    if (!found) throw unknown('depot', depot);
    const visits = (await this.feedVisits()).flatMap((visit) => {
      if (visit.depot === depot) return [visit];
      return visit.formerDepots?.includes(depot) ? [{ ...visit, cancelledAtMs: visit.updatedAtMs }] : [];
    });
    return this.feed(`Shop plan, ${found.name}`, found.timeZone, visits);
  }

  /** A visit that went to another bay is cancelled here, so that this bay's calendar lets go of it. @throws TallybayError `record_unknown` */
  async bayFeed(bay: string): Promise<string> {
    const found = (await this.shop.shop()).bays.find(({ id }) => id === bay);
    if (!found) throw unknown('bay', bay);
    const visits = (await this.feedVisits()).flatMap((visit) => {
      if (visit.bay === bay) return [visit];
      return visit.formerBays?.includes(bay) ? [{ ...visit, cancelledAtMs: visit.updatedAtMs }] : [];
    });
    return this.feed(`Shop plan, ${found.name}`, await this.shop.zoneOf(found.depot), visits);
  }

  /** @throws TallybayError `record_unknown` */
  async daySheet(bay: string, day: string): Promise<string> {
    const shop = await this.shop.shop();
    const found = shop.bays.find(({ id }) => id === bay);
    if (!found) throw unknown('bay', bay);
    const stored = (await this.registry.work.visits({ from: day, to: day })).filter((visit) => visit.bay === bay);
    // A stay may span days on which nobody works on the vehicle: they are on no sheet.
    const parts = stored
      .flatMap((visit) => visit.parts.filter((part) => part.day === day).map((part) => ({ visit, part })))
      .toSorted((a, b) => a.part.fromMinute - b.part.fromMinute);
    const work = parts.map(async ({ visit, part: { fromMinute, minutes } }) => ({
      ...{ visit: await this.view(visit), from: clockOfMinutes(fromMinute), to: clockOfMinutes(fromMinute + minutes) },
    }));
    const person = shop.people.find(({ id }) => parts.some(({ visit }) => visit.person === id))?.name ?? null;
    const depot = (await this.shop.depotNames()).get(found.depot) || found.depot;
    const sheet: DaySheet = { bay: found.name, depot, day, person, work: await Promise.all(work) };
    return daySheetHtml(sheet);
  }

  private async feedVisits(): Promise<StoredVisit[]> {
    const today = await this.shop.today();
    const span = { from: addDays(today, -FEED_DAYS.back), to: addDays(today, FEED_DAYS.ahead) };
    return this.registry.work.visits({ ...span, cancelled: true });
  }

  private async feed(name: string, timeZone: string, visits: StoredVisit[]): Promise<string> {
    const bayNames = new Map((await this.shop.shop()).bays.map((bay) => [bay.id, bay.name]));
    return calendarFeed({ name, timeZone, visits, bayNames, depotNames: await this.shop.depotNames() });
  }

  private async views(visits: readonly StoredVisit[]): Promise<Visit[]> {
    return Promise.all(visits.map((visit) => this.view(visit)));
  }
}

const unknown = (what: string, id: string): TallybayError =>
  new TallybayError('record_unknown', `There is no ${what} ${id}`, {
    advice: 'GET /v1/plan lists the bays and depots',
  });
