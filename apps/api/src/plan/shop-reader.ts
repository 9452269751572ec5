import type { Depot, InspectionKind, NoticeSettings, Shop } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import { DateTime } from 'luxon';
import type { EditedSettings } from '../settings/edited-settings.js';

const NO_ZONE = 'UTC';

/** What people have set of the shop, and its clock. */
export class ShopReader {
  constructor(
    private readonly registry: Registry,
    private readonly settings: EditedSettings,
    readonly nowMs: () => number,
  ) {}

  async shop(): Promise<Shop> {
    return (await this.settings.get('shop')).document as Shop;
  }

  async kinds(): Promise<InspectionKind[]> {
    return (await this.settings.get('shop-kinds')).document as InspectionKind[];
  }

  async notices(): Promise<NoticeSettings> {
    return (await this.settings.get('notices')).document as NoticeSettings;
  }

  depots(): Promise<Depot[]> {
    return this.registry.depots.list();
  }

  /** What people call the depots, by id. */
  async depotNames(): Promise<ReadonlyMap<string, string>> {
    return new Map((await this.depots()).map(({ id, name }) => [id, name]));
  }

  /** Zone of a depot; the first depot's where it is unknown. */
  async zoneOf(depot?: string): Promise<string> {
    const depots = await this.depots();
    return (depots.find(({ id }) => id === depot) ?? depots[0])?.timeZone ?? NO_ZONE;
  }

  /** Today by the clock of the first depot. */
  async today(): Promise<string> {
    return DateTime.fromMillis(this.nowMs(), { zone: await this.zoneOf() }).toISODate()!;
  }
}
