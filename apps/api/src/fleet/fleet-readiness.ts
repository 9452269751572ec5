import type { FleetReadiness, ReadinessForecastReport, Vehicle } from '@tallybay/contracts';
import { describeCode } from '@tallybay/decode';
import { Lake, readSnapshotFacts } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { type CodeTimeline, codeTimelines, type RuleSet, type SnapshotFact } from '@tallybay/risk';
import { CompletionByClass } from '../readiness/class-histories.js';
import {
  FORECAST_METHOD,
  READINESS_CAUTION,
  type ReadinessAsk,
  vehicleReadinessFrom,
} from '../readiness/readiness-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };

type Where = FleetReadiness['returning'][number]['where'][number];

/** Codes and readiness of the whole fleet from its snapshots alone; samples are not touched. */
export class FleetReadinessReport {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
  ) {}

  async read(): Promise<FleetReadiness> {
    const nowMs = this.nowMs();
    const rules = await this.rules();
    const vehicles = await this.registry.vehicles.list({});
    const depots = await this.registry.depots.list();
    const snapshots = await this.snapshots(nowMs);
    const completion = new CompletionByClass(vehicles, snapshots, rules);
    const zones = new Map(depots.map(({ id, timeZone }) => [id, timeZone]));
    return {
      asOf: new Date(nowMs).toISOString(),
      programmes: rules.programmes.map(({ id, label }) => ({ id, label })),
      vehicles: vehicles
        .map((vehicle) => {
          const ask = {
            rules,
            nowMs,
            timeZone: zones.get(vehicle.depot) ?? 'UTC',
            others: completion.othersOf(vehicle),
          };
          return vehicleRow(vehicle, snapshots.get(vehicle.id) ?? [], ask);
        })
        .sort(bySoonestDue),
      returning: returningCodes(vehicles, snapshots, rules),
      forecastMethod: FORECAST_METHOD,
      caution: READINESS_CAUTION,
    };
  }

  private async snapshots(nowMs: number): Promise<Map<string, SnapshotFact[]>> {
    const lake = await Lake.open(this.lakeDirectory, LAKE_OPTIONS);
    try {
      return await readSnapshotFacts(lake, nowMs);
    } finally {
      lake.close();
    }
  }
}

/** The vehicle's own answer, without what only a page about one vehicle needs. */
function vehicleRow(
  vehicle: Vehicle,
  snapshots: readonly SnapshotFact[],
  ask: ReadinessAsk,
): FleetReadiness['vehicles'][number] {
  const report = vehicleReadinessFrom(vehicle, snapshots, ask);
  const { inspectionDue, dueInDays, newestSnapshot, stale, hiddenClear, advice } = report;
  return {
    ...{ vehicle: vehicle.id, vehicleClass: vehicle.vehicleClass, depot: vehicle.depot },
    ...(vehicle.route === undefined ? {} : { route: vehicle.route }),
    ...{ inspectionDue, dueInDays, newestSnapshot, stale, hiddenClear, advice },
    verdicts: report.verdicts.map(({ programme, verdict, blocking, incomplete, why, readyByDate }) => ({
      ...{ programme, verdict, blocking, incomplete, why, readyByDate },
    })),
    forecast: report.forecast && withoutMethod(report.forecast),
  };
}

function withoutMethod({ method: _, ...forecast }: ReadinessForecastReport) {
  return forecast;
}

/** Without a due date last: nothing is known to be urgent about them. */
function bySoonestDue(left: FleetReadiness['vehicles'][number], right: FleetReadiness['vehicles'][number]): number {
  const order = (left.dueInDays ?? Infinity) - (right.dueInDays ?? Infinity);
  return Number.isNaN(order) || order === 0 ? (left.vehicle < right.vehicle ? -1 : 1) : order;
}

function returningCodes(
  vehicles: readonly Vehicle[],
  snapshots: ReadonlyMap<string, SnapshotFact[]>,
  rules: RuleSet,
): FleetReadiness['returning'] {
  const found = vehicles.flatMap((vehicle) =>
    codeTimelines(snapshots.get(vehicle.id) ?? [], rules.codes)
      .filter(({ returns }) => returns.length > 0)
      .map((timeline) => ({ vehicle, timeline })),
  );
  const byCode = Map.groupBy(found, ({ timeline }) => JSON.stringify([timeline.code, timeline.module]));
  return [...byCode.values()]
    .map((rows) => {
      const where = rows.map(whereOf).sort((a, b) => b.returns - a.returns || (a.vehicle < b.vehicle ? -1 : 1));
      const { code, module } = rows[0]!.timeline;
      const returns = where.reduce((sum, row) => sum + row.returns, 0);
      return { code, text: describeCode(code).text, module, returns, where };
    })
    .sort((a, b) => b.returns - a.returns || (a.code < b.code ? -1 : 1));
}

function whereOf({ vehicle, timeline }: { vehicle: Vehicle; timeline: CodeTimeline }): Where {
  const { returns, standing } = timeline;
  return {
    ...{ vehicle: vehicle.id, depot: vehicle.depot, returns: returns.length },
    active: standing !== 'gone' && standing !== 'cleared',
    lastReturn: new Date(Math.max(...returns.map(({ atMs }) => atMs))).toISOString(),
  };
}
