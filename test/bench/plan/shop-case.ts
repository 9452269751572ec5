import type { Demand, PlanBay, PlanPerson, PlanProblem, SpareLimit } from '@tallybay/plan';

export interface CaseSize {
  seed: number;
  inspections: number;
  bays: number;
  /** Working days; weekends are added between them. */
  workingDays: number;
  /** Everybody has one trade only: a harder shop than most. */
  narrow?: boolean;
}

const MS_PER_DAY = 86_400_000;
/** A Monday. */
const FIRST_DAY = Date.UTC(2026, 10, 30);
const CLASSES = ['van', 'vacuum_truck', 'crew_bus', 'service_pickup', 'diesel_flatbed'];
const OPEN = 7 * 60;
const BROAD = [
  ['diesel', 'emissions', 'electrics'],
  ['diesel', 'electrics'],
  ['diesel', 'emissions'],
  ['emissions', 'electrics'],
];
const NARROW = [
  ['diesel', 'emissions', 'electrics'],
  ['emissions', 'electrics'],
  ['diesel'],
  ['emissions', 'electrics'],
];

/** A seeded shop under pressure: two depots, three kinds of bays, mixed skills, a holiday, absences, spares, due dates. */
export function shopCase({ seed, inspections, bays, workingDays, narrow = false }: CaseSize): PlanProblem {
  const random = mulberry32(seed);
  const days = calendar(workingDays);
  const holiday = days.indexOf(weekdayOf(days, 3));
  const depots = ['northgate', 'millrace'];
  const shop = Array.from({ length: bays }, (_, index): PlanBay => {
    const depot = index < Math.ceil(bays * 0.625) ? depots[0]! : depots[1]!;
    const kind = index % 3;
    return {
      ...{ id: `bay-${index + 1}`, name: `Bay ${index + 1}`, depot },
      features: kind === 0 ? ['lift', 'pit'] : kind === 1 ? ['lift'] : [],
      days: days.map((date, day) => openDay(date, day === holiday)),
    };
  });
  const people = shop.flatMap(({ depot }, index): PlanPerson[] => {
    const skills = (narrow ? NARROW : BROAD)[index % 4]!;
    const away = Math.floor(random() * days.length);
    const extra =
      index % 4 === 3 ? [person(`spare-${index}`, depot, ['diesel', 'emissions', 'electrics'], days, -9)] : [];
    return [person(`person-${index}`, depot, skills, days, away), ...extra];
  });
  const vehicles = Math.ceil(inspections * 0.9);
  const demands = Array.from({ length: inspections }, (_, index) =>
    demand({ index, vehicles, random, days, depots, workingDays }),
  );
  const spares = CLASSES.map(
    (vehicleClass): SpareLimit => ({ vehicleClass, depot: null, count: Math.max(1, Math.ceil(bays * 1.2)) }),
  );
  const travel = new Map([
    ['northgate\nmillrace', 40],
    ['millrace\nnorthgate', 40],
  ]);
  const rules = { horizonDays: days.length, moveCost: 60, travelCostPerHour: 40, beyondDays: 14, leastWeight: 0.1 };
  return { days, bays: shop, people, demands, spares, travel, rules };
}

interface DemandCase {
  index: number;
  vehicles: number;
  random: () => number;
  days: readonly string[];
  depots: readonly string[];
  workingDays: number;
}

function demand({ index, vehicles, random, days, depots, workingDays }: DemandCase): Demand {
  const vehicle = index % vehicles;
  const heavy = random() ** 3;
  const earliest = random() < 0.4 ? 0 : Math.floor(random() * days.length * 0.4);
  const vehicleClass = CLASSES[vehicle % CLASSES.length]!;
  const bus = vehicleClass === 'crew_bus' && vehicle % 2 === 0;
  return {
    ...{ id: `inspection-${index}`, vehicle: `V-${vehicle}`, vehicleClass, depot: depots[vehicle % 8 < 5 ? 0 : 1]! },
    mayCome: days.map((date) => !bus || new Date(date).getUTCDay() !== 1),
    minutes: 30 + 15 * Math.floor(random() * random() * 22),
    skills: [[], [], ['diesel'], ['emissions'], ['electrics']][Math.floor(random() * 5)]!,
    features: [[], [], [], ['lift'], ['pit']][Math.floor(random() * 5)]!,
    earliest,
    latest: random() < 0.5 ? earliest + 2 + Math.floor(random() * workingDays * 1.2) : null,
    costPerDay: Math.round(100 * (0.5 + 60 * heavy)) / 100,
    latePerDay: 20 + Math.round(60 * random()),
    held: null,
  };
}

function person(id: string, depot: string, skills: string[], days: readonly string[], away: number): PlanPerson {
  return {
    id,
    name: id,
    depot,
    skills,
    present: days.map((date, day) => isWorkday(date) && day !== away && day !== away + 1),
  };
}

function openDay(date: string, holiday: boolean): PlanBay['days'][number] {
  if (!isWorkday(date)) return { closed: 'closed', why: `The shop is closed on ${date}` };
  if (holiday) return { closed: 'holiday', why: `${date} is a holiday` };
  return { fromMinute: OPEN, toMinute: OPEN + 8 * 60 };
}

function calendar(workingDays: number): string[] {
  const days: string[] = [];
  // One working day more, because one is a holiday.
  for (let at = FIRST_DAY, open = 0; open <= workingDays; at += MS_PER_DAY) {
    const date = new Date(at).toISOString().slice(0, 10);
    days.push(date);
    if (isWorkday(date)) open += 1;
  }
  return days;
}

const isWorkday = (date: string): boolean => ![0, 6].includes(new Date(date).getUTCDay());
const weekdayOf = (days: readonly string[], weekday: number): string =>
  days.findLast((date) => new Date(date).getUTCDay() === weekday) ?? days[0]!;

/** Small, seeded, good enough to spread cases. */
export function mulberry32(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}
