import {
  type CrossingsTrial,
  type CrossingsTrialRequest,
  parseContract,
  type SignalLimit,
  type Vehicle,
} from '@tallybay/contracts';
import { eachOnce, Lake, limitRows, type SignalSpanRow, signalSpans } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import {
  CrossingTracker,
  type LimitCrossing,
  limitsFor,
  type RuleSet,
  type VehicleLimit,
  weekWindow,
} from '@tallybay/risk';
import { nameOf } from '../recordings/recording-report.js';
import { SETTINGS } from '../settings/setting-table.js';

const SIDES = ['before', 'after'] as const;
type Side = (typeof SIDES)[number];

/** One vehicle with the week in its depot's zone and the limits of both sides. */
interface Tried {
  vehicle: Vehicle;
  fromMs: number;
  toMs: number;
  limits: Record<Side, VehicleLimit[]>;
}

type Found = LimitCrossing & { uploadId: string };

/** Limits on any signal, tried on the samples of a past week before anybody saves them. Reads only. */
export class CrossingsTrials {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly inForce: () => Promise<readonly SignalLimit[]>,
  ) {}

  /** @throws TallybayError `body_invalid`, `week_invalid` */
  async run(request: CrossingsTrialRequest): Promise<CrossingsTrial> {
    const rows = parseContract(SETTINGS['signal-limits'].schema, request.limits, 'body_invalid');
    const tried = await this.tried(request.week, { before: await this.inForce(), after: rows });
    const signals = [
      ...new Set(tried.flatMap(({ limits }) => SIDES.flatMap((side) => limits[side])).map((one) => one.signal)),
    ];
    const lake = await Lake.open(this.lakeDirectory, { tables: ['signal_stats'] });
    try {
      const span = {
        fromMs: Math.min(...tried.map(({ fromMs }) => fromMs)),
        toMs: Math.max(...tried.map(({ toMs }) => toMs)),
      };
      const spans = tried.length === 0 ? [] : await signalSpans(lake, { ...span, signals });
      const ofVehicle = Map.groupBy(spans, (row) => row.vehicle_id);
      const vehicles: CrossingsTrial['vehicles'] = [];
      for (const one of tried) {
        const found = await tryOut(lake, one, ofVehicle.get(one.vehicle.id) ?? []);
        const figures = figuresOf(found);
        if (figures.length > 0)
          vehicles.push({ vehicle: one.vehicle.id, vehicleClass: one.vehicle.vehicleClass, signals: figures });
      }
      return { week: request.week, vehicles };
    } finally {
      lake.close();
    }
  }

  private async tried(week: string, rows: Record<Side, readonly SignalLimit[]>): Promise<Tried[]> {
    const zones = new Map((await this.registry.depots.list()).map((depot) => [depot.id, depot.timeZone]));
    const rules = await this.rules();
    return (await this.registry.vehicles.list()).map((vehicle) => ({
      ...{ vehicle, ...weekWindow(week, zones.get(vehicle.depot) ?? 'UTC') },
      limits: {
        before: limitsFor(rows.before, rules, vehicle).map(asSampled),
        after: limitsFor(rows.after, rules, vehicle).map(asSampled),
      },
    }));
  }
}

/** Samples are kept in single precision: a value at the limit is compared with the limit as it would be kept. */
const asSampled = (limit: VehicleLimit): VehicleLimit => ({ ...limit, limit: Math.fround(limit.limit) });

async function tryOut(lake: Lake, one: Tried, spans: readonly SignalSpanRow[]): Promise<Record<Side, Found[]>> {
  const found: Record<Side, Found[]> = { before: [], after: [] };
  for (const [uploadId, rows] of Map.groupBy(spans, (row) => row.upload_id)) {
    const reached = (limit: VehicleLimit) =>
      rows.some(
        (row) =>
          row.signal === limit.signal && (limit.direction === 'high' ? row.max >= limit.limit : row.min <= limit.limit),
      );
    const limits = { before: one.limits.before.filter(reached), after: one.limits.after.filter(reached) };
    const signals = [...new Set(SIDES.flatMap((side) => limits[side]).map(({ signal }) => signal))];
    if (signals.length === 0) continue;
    const read = await limitRows(lake, { vehicleId: one.vehicle.id, uploadId }, signals);
    for (const side of SIDES) {
      const tracker = new CrossingTracker(limits[side], read.signals);
      tracker.add(read.rows);
      const inWeek = tracker.finish().filter(({ startMs }) => startMs >= one.fromMs && startMs < one.toMs);
      found[side].push(...inWeek.map((crossing) => ({ ...crossing, uploadId })));
    }
  }
  return { before: onceOf(found.before), after: onceOf(found.after) };
}

const onceOf = (found: readonly Found[]): Found[] =>
  eachOnce(found, ({ limit, uploadId, startMs, endMs, seconds }) => ({
    what: keyOf(limit),
    ...{ uploadId, fromMs: startMs, toMs: endMs, seconds },
  }));

const keyOf = ({ signal, direction, stage }: VehicleLimit): string => `${signal} ${direction} ${stage}`;

function figuresOf(found: Record<Side, Found[]>): CrossingsTrial['vehicles'][number]['signals'] {
  const sum = (list: readonly Found[]) => ({
    crossings: list.length,
    seconds: Math.round(list.reduce((total, { seconds }) => total + seconds, 0) * 10) / 10,
  });
  const groups = Map.groupBy([...found.before, ...found.after], ({ limit }) => keyOf(limit));
  return [...groups].map(([key, [first]]) => {
    const { signal, direction, stage } = first!.limit;
    const of = (side: Side) => sum(found[side].filter(({ limit }) => keyOf(limit) === key));
    return { signal, label: nameOf(signal).label, direction, stage, before: of('before'), after: of('after') };
  });
}
