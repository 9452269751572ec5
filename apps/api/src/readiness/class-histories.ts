import type { Vehicle } from '@tallybay/contracts';
import { Lake, readSnapshotFacts } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import {
  type CompletionHistory,
  completionHistory,
  FORECAST_RULE,
  pooledHistory,
  type RuleSet,
  type SnapshotFact,
} from '@tallybay/risk';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };

/** How monitors complete changes over weeks: a question about one vehicle need not read the whole fleet again each time. */
const KEEP_MS = 10 * 60_000;

/** How the monitors of a class's vehicles completed after clears, each vehicle apart. */
export class CompletionByClass {
  private readonly byClass: Map<string, Map<string, CompletionHistory>>;

  constructor(vehicles: readonly Vehicle[], snapshots: ReadonlyMap<string, SnapshotFact[]>, rules: RuleSet) {
    const asked = { codes: rules.codes, forecast: FORECAST_RULE };
    const classes = Map.groupBy(vehicles, ({ vehicleClass }) => vehicleClass);
    this.byClass = new Map(
      [...classes].map(([name, members]) => [
        name,
        new Map(members.map(({ id }) => [id, completionHistory(snapshots.get(id) ?? [], asked)])),
      ]),
    );
  }

  /** The vehicle's class without the vehicle. */
  othersOf({ id, vehicleClass }: Vehicle): CompletionHistory {
    const members = this.byClass.get(vehicleClass) ?? new Map<string, CompletionHistory>();
    return pooledHistory([...members].filter(([member]) => member !== id).map(([, history]) => history));
  }
}

/** Reads the fleet's completion histories and keeps them for a while. */
export class ClassHistories {
  private kept: { atMs: number; histories: Promise<CompletionByClass> } | null = null;

  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
  ) {}

  read(): Promise<CompletionByClass> {
    const nowMs = this.nowMs();
    if (this.kept && nowMs - this.kept.atMs < KEEP_MS) return this.kept.histories;
    const histories = this.fresh(nowMs);
    this.kept = { atMs: nowMs, histories };
    histories.catch(() => {
      this.kept = null;
    });
    return histories;
  }

  private async fresh(nowMs: number): Promise<CompletionByClass> {
    const vehicles = await this.registry.vehicles.list({});
    const rules = await this.rules();
    const lake = await Lake.open(this.lakeDirectory, LAKE_OPTIONS);
    try {
      return new CompletionByClass(vehicles, await readSnapshotFacts(lake, nowMs), rules);
    } finally {
      lake.close();
    }
  }
}
