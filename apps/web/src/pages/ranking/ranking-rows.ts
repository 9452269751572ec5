import type { RankedVehicle, Ranking, UnrankedVehicle } from '@tallybay/contracts';
import { depotName } from '../../data/depot-names.js';
import { csvText } from '../../kit/save-file.js';
import { t } from '../../text/text.js';

export interface RankingFilter {
  vehicleClass: string;
  depot: string;
  route: string;
  find: string;
}

export interface RankingSort {
  by: string;
  down: boolean;
}

type Component = 'heat' | 'codes' | 'readiness';
export const COMPONENTS: readonly Component[] = ['heat', 'codes', 'readiness'];

/** What puts a vehicle where it is: its heaviest weighted component; null when every one is zero or unknown. */
export function driverOf(row: RankedVehicle): Component | null {
  const weights = weightsOf(row);
  let best: Component | null = null;
  let most = 0;
  for (const name of COMPONENTS) {
    const part = (row[name].score ?? 0) * weights[name];
    if (part > most) [best, most] = [name, part];
  }
  return best;
}

/** Weights that the ranking was made with; equal ones where an older ranking did not keep them. */
export function weightsOf(row: RankedVehicle): Record<Component, number> {
  const kept = row.inputs.weights as Partial<Record<Component, number>> | undefined;
  return { heat: kept?.heat ?? 1, codes: kept?.codes ?? 1, readiness: kept?.readiness ?? 1 };
}

/** Each reason counts with its component's weight; the driver's own come first. */
export function reasonsOf(row: RankedVehicle): RankedVehicle['reasons'] {
  const weights = weightsOf(row);
  const driver = driverOf(row);
  const order = (reason: RankedVehicle['reasons'][number]) =>
    (reason.component === driver ? 10 : 0) + reason.weight * weights[reason.component];
  return row.reasons.toSorted((left, right) => order(right) - order(left));
}

/** The two to read first: the strongest, and the strongest of another kind where there is one. */
export function firstTwo(reasons: RankedVehicle['reasons']): RankedVehicle['reasons'] {
  const [first, second] = reasons;
  if (!first) return [];
  const other = reasons.find((reason) => reason.component !== first.component) ?? second;
  return other ? [first, other] : [first];
}

type Filtered = Pick<RankedVehicle, 'vehicle' | 'vehicleClass' | 'depot' | 'route'>;

export function fits(row: Filtered, filter: RankingFilter, more: string): boolean {
  if (filter.vehicleClass !== '' && row.vehicleClass !== filter.vehicleClass) return false;
  if (filter.depot !== '' && row.depot !== filter.depot) return false;
  if (filter.route !== '' && row.route !== filter.route) return false;
  const words = filter.find.toLowerCase().split(/\s+/).filter(Boolean);
  const text =
    `${row.vehicle} ${row.vehicleClass} ${row.depot} ${depotName(row.depot)} ${row.route ?? ''} ${more}`.toLowerCase();
  return words.every((word) => text.includes(word));
}

export const filteredRanked = (ranking: Ranking, filter: RankingFilter): RankedVehicle[] =>
  ranking.ranked.filter((row) => fits(row, filter, row.reasons.map(({ text }) => text).join(' ')));

export const filteredUnranked = (ranking: Ranking, filter: RankingFilter): UnrankedVehicle[] =>
  ranking.unranked.filter((row) => fits(row, filter, row.causes.map(({ text }) => text).join(' ')));

/** null (not known) sorts behind everything known, whichever way. */
const VALUES: Record<string, (row: RankedVehicle) => number | string | null> = {
  rank: (row) => row.rank,
  vehicle: (row) => row.vehicle,
  score: (row) => row.score,
  heat: (row) => row.heat.score,
  codes: (row) => row.codes.score,
  readiness: (row) => row.readiness.score,
  change: (row) => row.change.rank,
};

export const isSortable = (by: string): boolean => Object.hasOwn(VALUES, by);

export function sorted(rows: readonly RankedVehicle[], { by, down }: RankingSort): RankedVehicle[] {
  const value = VALUES[by] ?? VALUES.rank!;
  return rows.toSorted((left, right) => {
    const [a, b] = [value(left), value(right)];
    if (a === null || b === null) return a === b ? left.rank - right.rank : a === null ? 1 : -1;
    const order = a < b ? -1 : a > b ? 1 : 0;
    return (down ? -order : order) || left.rank - right.rank;
  });
}

/** Everything that is on screen, and what cannot be ranked, as one sheet. */
export function rankingCsv(ranking: Ranking, ranked: readonly RankedVehicle[], unranked: readonly UnrankedVehicle[]) {
  const head = t.ranking.csvHead;
  const rows = ranked.map((row) => [
    ...[ranking.week, ranking.revision, row.rank, row.vehicle, row.vehicleClass, row.depot, row.route ?? null],
    row.score,
    ...COMPONENTS.map((name) => row[name].score),
    ...[row.change.rank, row.change.score, row.coverage.share, row.coverage.engineHours, row.coverage.distanceKm],
    reasonsOf(row)
      .map(({ text }) => text)
      .join(' '),
  ]);
  const without = unranked.map((row) => [
    ...[ranking.week, ranking.revision, null, row.vehicle, row.vehicleClass, row.depot, row.route ?? null],
    null,
    ...Array.from({ length: COMPONENTS.length + 5 }, () => null),
    row.causes.map(({ text }) => text).join(' '),
  ]);
  return csvText([head, ...rows, ...without]);
}
