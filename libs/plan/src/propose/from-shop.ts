import type { Inspection, Shop, Vehicle } from '@tallybay/contracts';
import {
  type ClosedDay,
  type Demand,
  depotName,
  type HeldPlace,
  hasAll,
  type OpenDay,
  openMinutes,
  type PlanBay,
  type PlanPerson,
  type PlanProblem,
  travelKey,
} from '../model/problem.js';
import { addDays, daysBetween, minutesOfClock, weekdayOf } from './dates.js';

/** A visit that stands in the plan already. */
export interface StandingVisit {
  id: string;
  vehicle: string;
  bay: string;
  day: string;
  fromMinute: number;
  hold: HeldPlace['hold'];
  inspections: readonly string[];
}

export interface ShopPlanInput {
  /** First day that is planned. */
  today: string;
  shop: Shop;
  /** What people call the depots, by id. */
  depotNames?: ReadonlyMap<string, string>;
  vehicles: readonly Vehicle[];
  /** Those to plan: proposed or in a visit, not done or declined. */
  inspections: readonly Inspection[];
  visits: readonly StandingVisit[];
}

/** One demand of the problem in the shop's terms. */
export interface PlannedWork {
  visit: string | null;
  vehicle: string;
  inspections: readonly Inspection[];
}

export interface ShopPlan {
  problem: PlanProblem;
  /** By demand. */
  work: readonly PlannedWork[];
}

/**
 * The shop, its vehicles and the work as a problem. Inspections of one vehicle are joined into one visit where a bay and a
 * person can do all of them in one day and their dates overlap; visits that are pinned keep what they hold.
 */
export function planFromShop(input: ShopPlanInput): ShopPlan {
  const { today, shop, vehicles, inspections, visits, depotNames = new Map() } = input;
  const days = Array.from({ length: shop.rules.horizonDays }, (_, day) => addDays(today, day));
  const bays = shop.bays.map((bay) => planBay({ shop, depotNames }, bay, days));
  const people = shop.people.map((person) => planPerson(person, days));
  const known = new Map(vehicles.map((vehicle) => [vehicle.id, vehicle]));
  const work = joinWork({ inspections, visits, bays, people });
  const demands = work.flatMap((row) => {
    const vehicle = known.get(row.vehicle);
    return vehicle ? [{ row, demand: demandOf(row, vehicle, { shop, days, bays, visits, today }) }] : [];
  });
  const travel = new Map(
    shop.travel.flatMap(({ from, to, minutes }) => [
      [travelKey(from, to), minutes] as const,
      [travelKey(to, from), minutes] as const,
    ]),
  );
  const spares = shop.spares.map(({ vehicleClass, depot, count }) => ({ vehicleClass, depot: depot ?? null, count }));
  return {
    problem: {
      ...{ days, bays, people, spares, travel, rules: shop.rules, depotNames },
      demands: demands.map(({ demand }) => demand),
    },
    work: demands.map(({ row }) => row),
  };
}

type NamedShop = Required<Pick<ShopPlanInput, 'shop' | 'depotNames'>>;

function planBay(named: NamedShop, bay: Shop['bays'][number], days: readonly string[]): PlanBay {
  const { id, name, depot, features } = bay;
  return { id, name, depot, features, days: days.map((date) => bayDay(named, bay, date)) };
}

function bayDay(named: NamedShop, bay: Shop['bays'][number], date: string): OpenDay | ClosedDay {
  const { shop } = named;
  const depotText = depotName(named, bay.depot);
  const holiday = shop.holidays.find(
    (row) => row.date === date && (row.depot === undefined || row.depot === bay.depot),
  );
  if (holiday) return { closed: 'holiday', why: `${date} is a holiday (${holiday.name})` };
  if (bay.closed.some(({ from, to }) => from <= date && date <= to))
    return { closed: 'bay_closed', why: `${bay.name} is closed on ${date}` };
  const hours = shop.hours.find(({ depot, weekday }) => depot === bay.depot && weekday === weekdayOf(date));
  if (!hours) return { closed: 'closed', why: `${depotText} is closed on ${date}` };
  const from = minutesOfClock(hours.from);
  const to = minutesOfClock(hours.to);
  if (to > from) return { fromMinute: from, toMinute: to };
  return { closed: 'closed', why: `${depotText} has no opening hours on ${date}` };
}

function planPerson(person: Shop['people'][number], days: readonly string[]): PlanPerson {
  const { id, name, depot, skills, weekdays, absent } = person;
  const present = (date: string) =>
    weekdays.includes(weekdayOf(date)) && !absent.some(({ from, to }) => from <= date && date <= to);
  return { id, name, depot, skills, present: days.map(present) };
}

interface JoinInput {
  inspections: readonly Inspection[];
  visits: readonly StandingVisit[];
  bays: readonly PlanBay[];
  people: readonly PlanPerson[];
}

function joinWork({ inspections, visits, bays, people }: JoinInput): PlannedWork[] {
  const byId = new Map(inspections.map((item) => [item.id, item]));
  const work: { visit: string | null; vehicle: string; inspections: Inspection[]; closed: boolean }[] = visits.map(
    ({ id, vehicle, hold, inspections: held }) => ({
      ...{ visit: id, vehicle, closed: hold === 'pinned' },
      inspections: held.flatMap((item) => byId.get(item) ?? []),
    }),
  );
  const placed = new Set(work.flatMap((row) => row.inspections.map(({ id }) => id)));
  const rest = inspections.filter(({ id }) => !placed.has(id));
  for (const item of [...rest].sort((a, b) => b.costPerDay - a.costPerDay || (a.id < b.id ? -1 : 1))) {
    const home = work.find(
      (row) => !row.closed && row.vehicle === item.vehicle && oneVisit([...row.inspections, item], bays, people),
    );
    if (home) home.inspections.push(item);
    else work.push({ visit: null, vehicle: item.vehicle, inspections: [item], closed: false });
  }
  return work.filter((row) => row.inspections.length > 0);
}

/** Whether one visit on one day could do all of it, somewhere. */
function oneVisit(items: readonly Inspection[], bays: readonly PlanBay[], people: readonly PlanPerson[]): boolean {
  const minutes = items.reduce((sum, item) => sum + item.minutes, 0);
  const features = items.flatMap((item) => item.features);
  const skills = items.flatMap((item) => item.skills);
  const earliest = items
    .map((item) => item.earliest)
    .sort()
    .at(-1)!;
  // What is overdue is as late as it can be anyway: it may wait for what comes on its own first day.
  if (items.some((item) => item.latest !== null && item.latest < earliest && item.earliest < earliest)) return false;
  return bays.some(
    (bay) =>
      hasAll(bay.features, features) &&
      Math.max(...bay.days.map((day) => openMinutes(day))) >= minutes &&
      people.some((person) => person.depot === bay.depot && hasAll(person.skills, skills)),
  );
}

interface DemandInput {
  shop: Shop;
  days: readonly string[];
  bays: readonly PlanBay[];
  visits: readonly StandingVisit[];
  today: string;
}

function demandOf(row: PlannedWork, vehicle: Vehicle, { shop, days, bays, visits, today }: DemandInput): Demand {
  const { inspections } = row;
  const visit = visits.find(({ id }) => id === row.visit);
  const bay = visit ? bays.findIndex(({ id }) => id === visit.bay) : -1;
  const day = visit ? daysBetween(today, visit.day) : -1;
  const latest = inspections.flatMap((item) => (item.latest === null ? [] : [item.latest])).sort()[0];
  const unique = (list: readonly string[]) => [...new Set(list)];
  const held =
    visit && bay >= 0 && day >= 0 && day < days.length
      ? { bay, day, fromMinute: visit.fromMinute, hold: visit.hold }
      : null;
  return {
    ...{ id: row.visit ?? inspections[0]!.id, vehicle: vehicle.id, depot: vehicle.depot, held },
    vehicleClass: vehicle.vehicleClass,
    mayCome: mayCome(shop, vehicle, days),
    minutes: inspections.reduce((sum, item) => sum + item.minutes, 0),
    skills: unique(inspections.flatMap(({ skills }) => skills)),
    features: unique(inspections.flatMap(({ features }) => features)),
    earliest: Math.max(...inspections.map((item) => daysBetween(today, item.earliest))),
    latest: latest === undefined ? null : daysBetween(today, latest),
    costPerDay: inspections.reduce((sum, item) => sum + item.costPerDay, 0),
    latePerDay: inspections.reduce((sum, item) => sum + item.latePerDay, 0),
  };
}

function mayCome(shop: Shop, vehicle: Vehicle, days: readonly string[]): boolean[] {
  const own = shop.inService.find((row) => row.vehicle === vehicle.id);
  const row =
    own ?? shop.inService.find((item) => item.vehicle === undefined && item.vehicleClass === vehicle.vehicleClass);
  return days.map((date) => !row?.weekdays.includes(weekdayOf(date)));
}
