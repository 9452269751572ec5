import type { Depot, FleetReadiness, Vehicle } from '@tallybay/contracts';
import { describeCode } from '@tallybay/decode';
import { Lake, readSnapshotFacts } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { type CodeHistory, codeHistories, type RuleSet, readinessVerdict, type SnapshotFact } from '@tallybay/risk';

const MS_PER_DAY = 86_400_000;
const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };

const CAUTION =
  'These verdicts compare the newest snapshots with published rules. The local inspection programme decides, not this list.';

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
    return {
      asOf: new Date(nowMs).toISOString(),
      programmes: rules.programmes.map(({ id, label }) => ({ id, label })),
      vehicles: vehicles
        .map((vehicle) => vehicleRow(vehicle, snapshots.get(vehicle.id) ?? [], { rules, nowMs, depots }))
        .sort(bySoonestDue),
      returning: returningCodes(vehicles, snapshots, rules),
      caution: CAUTION,
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

function vehicleRow(
  vehicle: Vehicle,
  snapshots: readonly SnapshotFact[],
  at: { rules: RuleSet; nowMs: number; depots: readonly Depot[] },
): FleetReadiness['vehicles'][number] {
  const newest = snapshots.reduce((latest, { atMs }) => Math.max(latest, atMs), Number.NEGATIVE_INFINITY);
  const zone = at.depots.find(({ id }) => id === vehicle.depot)?.timeZone ?? 'UTC';
  return {
    ...{ vehicle: vehicle.id, vehicleClass: vehicle.vehicleClass, depot: vehicle.depot },
    inspectionDue: vehicle.inspectionDue ?? null,
    dueInDays: vehicle.inspectionDue === undefined ? null : daysUntil(vehicle.inspectionDue, at.nowMs, zone),
    newestSnapshot: snapshots.length === 0 ? null : new Date(newest).toISOString(),
    verdicts: at.rules.programmes.map((programme) => {
      const { verdict, blocking, why } = readinessVerdict(programme, vehicle, snapshots);
      return { programme: programme.id, verdict, blocking: [...blocking], why };
    }),
  };
}

/** Calendar days in the depot's zone: what is due today is due in 0 days until midnight there. */
function daysUntil(date: string, nowMs: number, timeZone: string): number {
  const today = new Intl.DateTimeFormat('en-CA', { timeZone }).format(nowMs);
  return Math.round((Date.parse(date) - Date.parse(today)) / MS_PER_DAY);
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
    strongest(codeHistories(snapshots.get(vehicle.id) ?? [], rules.codes)).map((history) => ({ vehicle, history })),
  );
  const byCode = Map.groupBy(found, ({ history }) => JSON.stringify([history.code, history.module]));
  return [...byCode.values()]
    .map((rows) => {
      const where = rows.map(whereOf).sort((a, b) => b.returns - a.returns || (a.vehicle < b.vehicle ? -1 : 1));
      const { code, module } = rows[0]!.history;
      const returns = where.reduce((sum, row) => sum + row.returns, 0);
      return { code, text: describeCode(code).text, module, returns, where };
    })
    .sort((a, b) => b.returns - a.returns || (a.code < b.code ? -1 : 1));
}

/** One code may be pending, confirmed and permanent at once; it is one return, counted by the status that saw most. */
function strongest(histories: readonly CodeHistory[]): CodeHistory[] {
  const returned = histories.filter(({ returns }) => returns.length > 0);
  const byCode = Map.groupBy(returned, ({ code, module }) => JSON.stringify([code, module]));
  return [...byCode.values()].map((rows) => rows.toSorted((a, b) => b.returns.length - a.returns.length)[0]!);
}

function whereOf({ vehicle, history }: { vehicle: Vehicle; history: CodeHistory }): Where {
  return {
    ...{ vehicle: vehicle.id, depot: vehicle.depot, returns: history.returns.length, active: history.active },
    lastReturn: new Date(Math.max(...history.returns.map(({ atMs }) => atMs))).toISOString(),
  };
}
