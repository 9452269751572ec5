import type { PlaceLimit, PlanRules } from '@tallybay/contracts';

/** Minutes of the depot's clock, from midnight. */
export interface OpenDay {
  fromMinute: number;
  toMinute: number;
}

export interface ClosedDay {
  closed: Extract<PlaceLimit, 'closed' | 'holiday' | 'bay_closed'>;
  why: string;
}

export interface PlanBay {
  id: string;
  name: string;
  depot: string;
  features: readonly string[];
  /** One entry a day of the plan. */
  days: readonly (OpenDay | ClosedDay)[];
}

/** Works one bay of the depot for a whole day. */
export interface PlanPerson {
  id: string;
  name: string;
  depot: string;
  skills: readonly string[];
  /** One entry a day of the plan. */
  present: readonly boolean[];
}

/** Where a visit stands already. `pinned` stays whatever it costs; `booked` may move, at a cost. */
export interface HeldPlace {
  bay: number;
  day: number;
  fromMinute: number;
  hold: 'pinned' | 'booked' | 'proposed';
}

/** One visit to plan: a vehicle and the work that is done in one go. */
export interface Demand {
  id: string;
  vehicle: string;
  vehicleClass: string;
  /** Depot the vehicle belongs to. */
  depot: string;
  /** Days on which the vehicle may be away from service; one entry a day of the plan. */
  mayCome: readonly boolean[];
  minutes: number;
  skills: readonly string[];
  features: readonly string[];
  /** Days of the plan, 0 = the first; may lie outside of it. */
  earliest: number;
  latest: number | null;
  costPerDay: number;
  latePerDay: number;
  held: HeldPlace | null;
}

export interface SpareLimit {
  vehicleClass: string;
  /** Null = over all depots. */
  depot: string | null;
  count: number;
}

/** Everything a plan depends on. Days are calendar days in order, closed ones included. */
export interface PlanProblem {
  days: readonly string[];
  bays: readonly PlanBay[];
  people: readonly PlanPerson[];
  demands: readonly Demand[];
  spares: readonly SpareLimit[];
  /** `from to` -> minutes one way; both directions are present. */
  travel: ReadonlyMap<string, number>;
  rules: PlanRules;
  /** What people call the depots, by id; for words only. */
  depotNames?: ReadonlyMap<string, string>;
}

export const depotName = ({ depotNames }: Pick<PlanProblem, 'depotNames'>, id: string): string =>
  depotNames?.get(id) || id;

/** Work of one visit on one day, in minutes. */
export interface PlacePart {
  day: number;
  minutes: number;
}

/** A visit in a bay from a day on; work that is longer than a day takes whole days and the start of the last one. */
export interface Place {
  demand: number;
  bay: number;
  day: number;
  lastDay: number;
  parts: readonly PlacePart[];
  cost: number;
}

/** A place with its times and people. */
export interface Placement {
  demand: number;
  bay: number;
  day: number;
  lastDay: number;
  /** One entry a day worked. */
  parts: readonly (PlacePart & { fromMinute: number; person: number | null })[];
}

export interface Obstacle {
  limit: PlaceLimit;
  text: string;
}

export const isOpen = (day: OpenDay | ClosedDay | undefined): day is OpenDay =>
  day !== undefined && 'fromMinute' in day;
export const openMinutes = (day: OpenDay | ClosedDay | undefined): number =>
  isOpen(day) ? day.toMinute - day.fromMinute : 0;
export const hasAll = (has: readonly string[], needs: readonly string[]): boolean =>
  needs.every((need) => has.includes(need));
export const travelKey = (from: string, to: string): string => `${from}\n${to}`;

/** Demands in another order or number, everything else the same. */
export const withDemands = (problem: PlanProblem, demands: readonly Demand[]): PlanProblem => ({ ...problem, demands });
