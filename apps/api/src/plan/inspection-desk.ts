import type { Vehicle } from '@tallybay/contracts';
import { Lake, listRankings, readRanking, readSnapshotFacts } from '@tallybay/lake';
import {
  type Finding,
  proposeInspections,
  rankingFindings,
  readinessFindings,
  returningFindings,
  serviceFinding,
} from '@tallybay/plan';
import type { Registry, StoredInspection } from '@tallybay/registry';
import type { RuleSet, SnapshotFact } from '@tallybay/risk';
import type { FleetReadinessReport } from '../fleet/fleet-readiness.js';
import type { ShopReader } from './shop-reader.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
const OPEN = ['proposed', 'booked', 'in_the_bay'] as const;

export interface InspectionDeskParts {
  registry: Registry;
  shop: ShopReader;
  lakeDirectory: string;
  readiness: FleetReadinessReport;
  rules: () => Promise<RuleSet>;
}

/** Turns what the lake and the rankings say into inspections. */
export class InspectionDesk {
  constructor(private readonly parts: InspectionDeskParts) {}

  /** Proposals as of now; then every inspection that is open. */
  async refresh(): Promise<StoredInspection[]> {
    const { registry, shop } = this.parts;
    const today = await shop.today();
    const kinds = await shop.kinds();
    const { rules } = await shop.shop();
    const settled = await this.settled();
    const findings = [
      ...(await this.findings(today)),
      ...(await this.services(today, rules.horizonDays, settled.done)),
    ];
    const known = new Set((await registry.vehicles.list()).map(({ id }) => id));
    const wanted = proposeInspections({
      ...{ today, kinds, rules, settled: settled.all },
      findings: findings.filter(({ vehicle }) => known.has(vehicle)),
    });
    await registry.inspections.propose(wanted);
    return registry.inspections.list({ states: OPEN });
  }

  private async findings(today: string): Promise<Finding[]> {
    const { lakeDirectory, readiness, rules } = this.parts;
    const [newest] = await listRankings(lakeDirectory);
    const ranking = newest ? await readRanking(lakeDirectory, newest.week) : null;
    const report = await readiness.read();
    const { readiness: scoring } = await rules();
    return [
      ...rankingFindings(ranking),
      ...returningFindings(report.returning),
      ...readinessFindings(report.vehicles, scoring.programme, today),
    ];
  }

  private async services(
    today: string,
    horizonDays: number,
    done: Map<string, Map<string, string>>,
  ): Promise<Finding[]> {
    const kinds = (await this.parts.shop.kinds()).filter(({ every }) => every !== undefined);
    if (kinds.length === 0) return [];
    const snapshots = await this.snapshots();
    const vehicles = await this.parts.registry.vehicles.list();
    return vehicles.flatMap((vehicle: Vehicle) => {
      const readings = (snapshots.get(vehicle.id) ?? []).map(({ atMs, engineHours, odometerKm }) => ({
        ...{ day: dayOf(atMs), engineHours, odometerKm },
      }));
      const mine = { vehicle, readings, done: done.get(vehicle.id) ?? new Map<string, string>() };
      return kinds.flatMap(
        ({ id, every }) => serviceFinding(mine, { id, every: every! }, { today, horizonDays }) ?? [],
      );
    });
  }

  private async snapshots(): Promise<Map<string, SnapshotFact[]>> {
    const lake = await Lake.open(this.parts.lakeDirectory, LAKE_OPTIONS);
    try {
      return await readSnapshotFacts(lake, this.parts.shop.nowMs());
    } finally {
      lake.close();
    }
  }

  /** What was done or declined, newest last: by vehicle and kind, and the days of what was done by vehicle. */
  private async settled() {
    const all = new Map<string, { day: string; by: 'done' | 'declined' }>();
    const done = new Map<string, Map<string, string>>();
    const closed = await this.parts.registry.inspections.list({ states: ['done', 'declined'] });
    for (const item of closed.toSorted((a, b) => a.updatedAtMs - b.updatedAtMs)) {
      const day = dayOf(item.updatedAtMs);
      all.set(`${item.vehicle}\n${item.kind}`, { day, by: item.state as 'done' | 'declined' });
      if (item.state === 'done') done.set(item.vehicle, (done.get(item.vehicle) ?? new Map()).set(item.kind, day));
    }
    return { all, done };
  }
}

const dayOf = (ms: number): string => new Date(ms).toISOString().slice(0, 10);
