import { median } from '@tallybay/risk';
import { averagePrecision, hitsAt, type Listed } from './list-quality.js';
import { PLAIN_RANKINGS, type PlainName } from './plain-rankings.js';
import { COOLING_KINDS } from './truth-of-week.js';
import { type FaultCase, isCalled, type SeedResult, type VehicleWeek } from './vehicle-week.js';

/** Grown this far a fault counts as one that belongs on the list; below it is neither hit nor miss. */
export const GROWN = 0.3;

export interface ListFigures {
  /** Mean over weeks with at least one positive. */
  averagePrecision: number | null;
  precisionAt5: number | null;
  precisionAt10: number | null;
  recallAt5: number | null;
  recallAt10: number | null;
  /** Weeks of fleets with a positive; positives in them. */
  weeks: number;
  positives: number;
}

export interface KindFigures {
  kind: string;
  faults: number;
  called: number;
  /** Over all faults of the kind; one that was never called counts as 0 days. */
  medianWarningDays: number | null;
  /** Vehicle-weeks with the fault grown, and those of them that were called. */
  grownWeeks: number;
  calledWeeks: number;
  averagePrecision: number | null;
}

export interface EvalSummary {
  vehicleWeeks: number;
  heat: ListFigures;
  plain: Record<PlainName, ListFigures>;
  bestPlain: PlainName;
  ratioToBestPlain: number | null;
  /** The same list against other truths, so that the choice of positives can be judged. */
  otherPositives: Record<string, { heat: number | null; bestPlain: number | null }>;
  kinds: KindFigures[];
  coolingMedianWarningDays: number | null;
  healthyWeeks: number;
  falseAlarms: number;
  falseAlarmsPer100: number | null;
  sensorWeeks: number;
  sensorFaultsAsHeat: number;
  /** Every miss and false alarm by name, so that it can be looked at. */
  missed: FaultCase[];
  falseAlarmRows: Pick<VehicleWeek, 'seed' | 'week' | 'vehicle' | 'heat' | 'said'>[];
  sensorRows: Pick<VehicleWeek, 'seed' | 'week' | 'vehicle' | 'heat' | 'said'>[];
}

type Score = (row: VehicleWeek) => number | null;
type IsPositive = (row: VehicleWeek) => boolean;

const isGrown: IsPositive = ({ truth }) => truth.fault !== null && truth.fault.severity >= GROWN;
/** Neither: a fault that has begun and cannot yet be expected to show. */
const isBudding: IsPositive = (row) => row.truth.fault !== null && !isGrown(row);
const heatOf: Score = ({ heat }) => heat;

/** All figures over the seeds together. Vehicles that stood still in a week are in no list of that week. */
export function summarise(results: readonly SeedResult[]): EvalSummary {
  const driven = results.flatMap(({ weeks }) => weeks).filter(({ truth }) => truth.driven);
  const faults = results.flatMap((result) => result.faults);
  const names = Object.keys(PLAIN_RANKINGS) as PlainName[];
  const plainOf =
    (name: PlainName): Score =>
    (row) =>
      row.plain[name];
  const plain = Object.fromEntries(names.map((name) => [name, figures(driven, plainOf(name))])) as EvalSummary['plain'];
  const heat = figures(driven, heatOf);
  const value = (name: PlainName) => plain[name].averagePrecision ?? 0;
  const bestPlain = names.reduce((best, name) => (value(name) > value(best) ? name : best));
  const healthy = driven.filter(({ truth }) => truth.healthy);
  const alarms = healthy.filter(isCalled);
  const sensors = driven.filter(({ truth }) => truth.badSensor !== null && truth.fault === null);
  const asHeat = sensors.filter(isCalled);
  const cooling = faults.filter(({ kind }) => COOLING_KINDS.includes(kind));
  return {
    ...{ vehicleWeeks: driven.length, heat, plain, bestPlain },
    ratioToBestPlain: heat.averagePrecision === null ? null : heat.averagePrecision / value(bestPlain),
    otherPositives: otherPositives(driven, plainOf(bestPlain)),
    kinds: [...new Set(faults.map(({ kind }) => kind))].sort().map((kind) => kindFigures(kind, driven, faults)),
    coolingMedianWarningDays: medianWarning(cooling),
    ...{ healthyWeeks: healthy.length, falseAlarms: alarms.length },
    falseAlarmsPer100: healthy.length > 0 ? (100 * alarms.length) / healthy.length : null,
    ...{ sensorWeeks: sensors.length, sensorFaultsAsHeat: asHeat.length },
    missed: faults.filter(({ warningDays }) => warningDays === null),
    ...{ falseAlarmRows: alarms.map(named), sensorRows: asHeat.map(named) },
  };
}

function otherPositives(rows: readonly VehicleWeek[], plain: Score): EvalSummary['otherPositives'] {
  const choices: [string, IsPositive, IsPositive][] = [
    [
      'fault grown to half or more',
      ({ truth }) => (truth.fault?.severity ?? 0) >= 0.5,
      ({ truth }) => truth.fault !== null,
    ],
    ['any overheating fault at all', ({ truth }) => truth.fault !== null, () => false],
    ['a true temperature above caution for a minute', ({ truth }) => truth.hot, () => false],
  ];
  return Object.fromEntries(
    choices.map(([name, positive, leftOut]) => {
      const of = (score: Score) => figures(rows, score, { positive, leftOut }).averagePrecision;
      return [name, { heat: of(heatOf), bestPlain: of(plain) }];
    }),
  );
}

function figures(
  rows: readonly VehicleWeek[],
  score: Score,
  { positive, leftOut }: { positive: IsPositive; leftOut: IsPositive } = { positive: isGrown, leftOut: isBudding },
): ListFigures {
  const lists = [...Map.groupBy(rows, ({ seed, week }) => `${seed} ${week}`).values()]
    .map((list) =>
      list
        .filter((row) => positive(row) || !leftOut(row))
        .map((row): Listed => ({ score: score(row), positive: positive(row) })),
    )
    .filter((list) => list.some((row) => row.positive));
  const count = (list: readonly Listed[]) => list.filter((row) => row.positive).length;
  const over = (of: (list: Listed[]) => number) => mean(lists.map(of));
  return {
    averagePrecision: over((list) => averagePrecision(list)!),
    precisionAt5: over((list) => hitsAt(list, 5) / 5),
    precisionAt10: over((list) => hitsAt(list, 10) / 10),
    recallAt5: over((list) => hitsAt(list, 5) / count(list)),
    recallAt10: over((list) => hitsAt(list, 10) / count(list)),
    ...{ weeks: lists.length, positives: lists.reduce((sum, list) => sum + count(list), 0) },
  };
}

function kindFigures(kind: string, rows: readonly VehicleWeek[], faults: readonly FaultCase[]): KindFigures {
  const own = faults.filter((fault) => fault.kind === kind);
  const grown = rows.filter((row) => isGrown(row) && row.truth.fault?.kind === kind);
  const positive: IsPositive = (row) => isGrown(row) && row.truth.fault?.kind === kind;
  const leftOut: IsPositive = (row) => row.truth.fault !== null;
  return {
    ...{ kind, faults: own.length, called: own.filter(({ warningDays }) => warningDays !== null).length },
    ...{ medianWarningDays: medianWarning(own), grownWeeks: grown.length },
    calledWeeks: grown.filter(isCalled).length,
    averagePrecision: figures(rows, heatOf, { positive, leftOut }).averagePrecision,
  };
}

const medianWarning = (faults: readonly FaultCase[]): number | null =>
  faults.length > 0 ? median(faults.map(({ warningDays }) => warningDays ?? 0)) : null;

const mean = (values: readonly number[]): number | null =>
  values.length > 0 ? values.reduce((sum, value) => sum + value, 0) / values.length : null;

const named = ({ seed, week, vehicle, heat, said }: VehicleWeek) => ({ seed, week, vehicle, heat, said });
