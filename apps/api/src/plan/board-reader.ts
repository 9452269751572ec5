import { type Inspection, TallybayError } from '@tallybay/contracts';
import { addDays, type HeldPlace, planFromShop, type ShopPlan } from '@tallybay/plan';
import type { Registry, StoredVisit } from '@tallybay/registry';
import type { ShopReader } from './shop-reader.js';

/** A stay that began earlier than this is not part of a plan any more. */
const LONGEST_STAY_DAYS = 14;

export interface StandingBoard {
  version: number;
  visits: StoredVisit[];
  plan: ShopPlan;
}

/** The plan as it stands, as a problem. */
export class BoardReader {
  constructor(
    readonly registry: Registry,
    readonly shop: ShopReader,
  ) {}

  /**
   * @param holdOf how firmly each standing visit holds its place; null leaves it out
   * @throws TallybayError `shop_missing`
   */
  async read(
    inspections: readonly Inspection[],
    holdOf: (visit: StoredVisit) => HeldPlace['hold'],
  ): Promise<StandingBoard> {
    const shop = await this.shop.shop();
    if (shop.bays.length === 0 || shop.people.length === 0 || shop.hours.length === 0)
      throw new TallybayError(
        'shop_missing',
        `The shop has ${shop.bays.length} bays, ${shop.people.length} people and ${shop.hours.length} opening hours; a plan needs one of each at least`,
        { advice: 'Set them at PUT /v1/settings/shop' },
      );
    const today = await this.shop.today();
    const version = (await this.registry.work.board()).version;
    const all = await this.registry.work.visits({ from: addDays(today, -LONGEST_STAY_DAYS) });
    const visits = all.filter(({ state, lastDay }) => state === 'in_the_bay' || (isOpen(state) && lastDay >= today));
    const overdue = all.filter(({ state, lastDay }) => (state === 'proposed' || state === 'booked') && lastDay < today);
    const from = [today, ...visits.map(({ day }) => day)].sort()[0]!;
    const plan = planFromShop({
      ...{ today: from, shop, vehicles: await this.registry.vehicles.list() },
      depotNames: await this.shop.depotNames(),
      // A plan that begins with a visit in the bay begins before today; new work does not.
      inspections: inspections.map((item) => ({ ...item, earliest: laterOf(item.earliest, today) })),
      visits: [...visits, ...overdue].map((visit) => ({
        ...{ id: visit.id, vehicle: visit.vehicle, bay: visit.bay, day: visit.day },
        ...{ fromMinute: visit.parts[0]?.fromMinute ?? 0, hold: holdOf(visit) },
        inspections: visit.inspections.map(({ id }) => id),
      })),
    });
    return { version, visits: [...visits, ...overdue], plan };
  }
}

export const isOpen = (state: StoredVisit['state']): boolean =>
  state === 'proposed' || state === 'booked' || state === 'in_the_bay';

/** How a re-plan holds visits: what is in the bay or pinned stays, what is booked moves at a cost. */
export function holdInPlan({ state, pinned }: StoredVisit): HeldPlace['hold'] {
  if (pinned || state === 'in_the_bay') return 'pinned';
  return state === 'booked' ? 'booked' : 'proposed';
}

/** ISO dates sort as text. */
const laterOf = (a: string, b: string): string => [a, b].sort()[1]!;
