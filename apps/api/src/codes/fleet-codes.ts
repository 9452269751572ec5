import type { FleetCodes, Vehicle } from '@tallybay/contracts';
import { Lake, readSnapshotFacts } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import {
  byTime,
  CODE_PATTERN_RULE,
  type CodePatternRule,
  type CodeTimeline,
  clearPatterns,
  codesTogether,
  codeTimelines,
  type RepairFact,
  type RuleSet,
  type SpreadingCode,
  severityOf,
  spreadingCodes,
  type VehicleCodesFact,
} from '@tallybay/risk';
import { repairsOf } from '../plan/repairs.js';
import { distinct, isoOf, patternFrom, returnFrom, returnsIn } from './code-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };

const CAUTION =
  'A code that is not listed may be one that nobody read: of vehicles without a snapshot, and of modules and services that were not read, nothing is known.';

const TOGETHER_METHOD =
  "Over vehicles whose codes were read: Fisher's exact test, one-sided, adjusted for all pairs by Benjamini and Hochberg (1995); pairs at 0.05 or below. Coming together does not say which causes which.";

const SPREADING_METHOD =
  'Vehicles that have a confirmed code for the first time, against the vehicle-days under watch without it: conditional binomial test of two Poisson rates, adjusted for all codes and classes by Benjamini and Hochberg (1995); codes at 0.05 or below.';

type Known = { vehicle: Vehicle; timelines: CodeTimeline[]; readMs: number[]; repairs: readonly RepairFact[] };
type Code = FleetCodes['codes'][number];

/** Codes of the whole fleet from its snapshots alone; samples are not touched. */
export class FleetCodesReport {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
    private readonly patterns: CodePatternRule = CODE_PATTERN_RULE,
  ) {}

  async read(filters: FleetCodes['filters']): Promise<FleetCodes> {
    const nowMs = this.nowMs();
    const rules = await this.rules();
    const fleet = await this.registry.vehicles.list({});
    const asked = fleet.filter(
      ({ vehicleClass, depot, route }) =>
        (filters.vehicleClass === null || vehicleClass === filters.vehicleClass) &&
        (filters.depot === null || depot === filters.depot) &&
        (filters.route === null || route === filters.route),
    );
    const known = await this.known(asked, rules, nowMs);
    const facts = known.map(factOf);
    const { together, spreading } = this.patterns;
    const textOf = (code: string) => severityOf(rules.severities, code).text;
    return {
      ...{ asOf: isoOf(nowMs), filters },
      classes: distinct(fleet.map(({ vehicleClass }) => vehicleClass)),
      depots: distinct(fleet.map(({ depot }) => depot)),
      routes: distinct(fleet.flatMap(({ route }) => route ?? [])),
      ...{ vehicles: asked.length, vehiclesRead: known.filter(({ readMs }) => readMs.length > 0).length },
      codes: codeRows(known, rules, nowMs),
      patterns: known.flatMap(({ vehicle, timelines }) =>
        clearPatterns(timelines, vehicle.inspectionDue ?? null, this.patterns).map((pattern) => ({
          ...{ ...patternFrom(pattern), vehicle: vehicle.id, depot: vehicle.depot },
        })),
      ),
      together: {
        ...{ method: TOGETHER_METHOD, leastVehicles: together.leastVehicles },
        pairs: codesTogether(facts, together).map((pair) => ({
          ...pair,
          texts: [textOf(pair.codes[0]), textOf(pair.codes[1])],
        })),
      },
      spreading: {
        ...{ method: SPREADING_METHOD, nowDays: spreading.nowDays, beforeDays: spreading.beforeDays },
        leastVehicles: spreading.leastVehicles,
        codes: spreadingCodes(facts, nowMs, spreading).map((row) => spreadingRow(row, known, textOf(row.code))),
      },
      caution: CAUTION,
    };
  }

  private async known(vehicles: readonly Vehicle[], rules: RuleSet, nowMs: number): Promise<Known[]> {
    // Which repairs were of heat does not matter to a code.
    const repairs = await repairsOf(this.registry, []);
    const lake = await Lake.open(this.lakeDirectory, LAKE_OPTIONS);
    try {
      const facts = await readSnapshotFacts(lake, nowMs);
      return vehicles.map((vehicle) => {
        const snapshots = byTime(facts.get(vehicle.id) ?? []);
        const readMs = snapshots.filter(({ read }) => read.confirmed).map(({ atMs }) => atMs);
        const timelines = codeTimelines(snapshots, rules.codes);
        return { vehicle, timelines, readMs, repairs: repairs.get(vehicle.id) ?? [] };
      });
    } finally {
      lake.close();
    }
  }
}

const factOf = ({ vehicle, timelines, readMs }: Known): VehicleCodesFact => ({
  ...{ vehicle: vehicle.id, vehicleClass: vehicle.vehicleClass, timelines, readMs },
});

function codeRows(known: readonly Known[], rules: RuleSet, nowMs: number): Code[] {
  const seen = known.flatMap(({ timelines, ...rest }) => timelines.map((timeline) => ({ ...rest, timeline })));
  return [...Map.groupBy(seen, ({ timeline }) => timeline.code)]
    .map(([code, rows]): Code => {
      const where = rows.map((row) => whereOf(row, nowMs)).sort(mostReturns);
      const active = where.filter(({ status }) => status !== 'gone' && status !== 'cleared');
      return {
        ...{ code, ...severityOf(rules.severities, code) },
        vehicles: new Set(where.map(({ vehicle }) => vehicle)).size,
        active: new Set(active.map(({ vehicle }) => vehicle)).size,
        returnsIn: returnsIn(
          rows.flatMap(({ timeline }) => timeline.returns),
          nowMs,
        ),
        where,
      };
    })
    .sort(
      (a, b) =>
        b.returnsIn.d90 - a.returnsIn.d90 ||
        b.returnsIn.d365 - a.returnsIn.d365 ||
        b.active - a.active ||
        (a.code < b.code ? -1 : 1),
    );
}

type Seen = Pick<Known, 'vehicle' | 'repairs'> & { timeline: CodeTimeline };

function whereOf({ vehicle, repairs, timeline }: Seen, nowMs: number) {
  const { module, standing, returns, clears } = timeline;
  const last = returns.at(-1);
  return {
    ...{ vehicle: vehicle.id, vehicleClass: vehicle.vehicleClass, depot: vehicle.depot, module, status: standing },
    ...{ firstSeen: isoOf(timeline.firstSeenMs), lastSeen: isoOf(timeline.lastSeenMs) },
    ...{ returnsIn: returnsIn(returns, nowMs), lastReturn: last ? returnFrom(last, timeline, repairs) : null },
    ...{ cleared: clears.length, cameBack: clears.filter(({ backMs }) => backMs !== null).length },
  };
}

const mostReturns = (a: ReturnType<typeof whereOf>, b: ReturnType<typeof whereOf>): number =>
  b.returnsIn.d365 - a.returnsIn.d365 || (a.vehicle < b.vehicle ? -1 : 1);

function spreadingRow(row: SpreadingCode, known: readonly Known[], text: string) {
  const members = known.filter(({ vehicle }) => vehicle.vehicleClass === row.vehicleClass);
  const has = ({ timelines }: Known) =>
    timelines.some(
      ({ code, histories }) =>
        code === row.code && histories.some(({ status, active }) => status === 'confirmed' && active),
    );
  const counts = ({ newVehicles, vehicleDays }: SpreadingCode['now']) => ({
    ...{ newVehicles: newVehicles.length, vehicleDays: Math.round(vehicleDays * 10) / 10 },
  });
  return {
    ...{ code: row.code, text, vehicleClass: row.vehicleClass, now: counts(row.now), before: counts(row.before) },
    ...{ active: members.filter(has).length, of: members.filter(({ readMs }) => readMs.length > 0).length },
    ...{ ratio: row.ratio, p: row.p, adjusted: row.adjusted, vehicles: row.now.newVehicles },
  };
}
