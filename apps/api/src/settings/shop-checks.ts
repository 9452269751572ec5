import type { InspectionKind, Shop } from '@tallybay/contracts';

/** What rows of the shop's tables say together that cannot be; `path` leads to the field at fault. */
export interface ShopProblem {
  path: (string | number)[];
  text: string;
}

/** A setting that the planner would take otherwise than it was meant: it uses the first of two rows that say the same. */
export function shopProblems(shop: Shop): ShopProblem[] {
  return [
    ...repeated(shop.bays, 'id', ({ id }) => id).map(within('bays')),
    ...repeated(shop.people, 'id', ({ id }) => id).map(within('people')),
    ...shop.bays.flatMap(({ closed }, index) => backwards(closed).map(within('bays', index, 'closed'))),
    ...shop.people.flatMap(({ absent }, index) => backwards(absent).map(within('people', index, 'absent'))),
    ...hourProblems(shop.hours).map(within('hours')),
    ...repeated(shop.holidays, 'date', ({ date, depot }) => [date, depot ?? 'everywhere']).map(within('holidays')),
    ...repeated(shop.spares, 'vehicleClass', (row) => [row.vehicleClass, row.depot ?? 'all depots']).map(
      within('spares'),
    ),
    ...inServiceProblems(shop.inService).map(within('inService')),
    ...travelProblems(shop.travel).map(within('travel')),
  ];
}

export const kindProblems = (kinds: readonly InspectionKind[]): ShopProblem[] => repeated(kinds, 'id', ({ id }) => id);

function hourProblems(hours: Shop['hours']): ShopProblem[] {
  const empty = hours.flatMap(({ from, to }, index) =>
    to > from ? [] : [{ path: [index, 'to'], text: `${to} is not after ${from}; leave a closed day out` }],
  );
  return [...empty, ...repeated(hours, 'weekday', ({ depot, weekday }) => [depot, `weekday ${weekday}`])];
}

function inServiceProblems(rows: Shop['inService']): ShopProblem[] {
  const unnamed = rows.flatMap(({ vehicle, vehicleClass }, index) =>
    (vehicle === undefined) === (vehicleClass === undefined)
      ? [{ path: [index, 'vehicle'], text: 'Name either a vehicle or a class' }]
      : [],
  );
  if (unnamed.length > 0) return unnamed;
  return repeated(rows, 'vehicle', ({ vehicle, vehicleClass }) => vehicle ?? `class ${vehicleClass}`);
}

function travelProblems(travel: Shop['travel']): ShopProblem[] {
  const still = travel.flatMap(({ from, to }, index) =>
    from === to ? [{ path: [index, 'to'], text: `From ${from} to itself nobody travels; name another depot` }] : [],
  );
  return [...still, ...repeated(travel, 'to', ({ from, to }) => [from, to].toSorted())];
}

const backwards = (spans: readonly { from: string; to: string }[]): ShopProblem[] =>
  spans.flatMap(({ from, to }, index) =>
    to < from ? [{ path: [index, 'to'], text: `The last day ${to} is before the first, ${from}` }] : [],
  );

/** Rows after the first of the same key. */
function repeated<T>(rows: readonly T[], field: string, keyOf: (row: T) => string | string[]): ShopProblem[] {
  const seen = new Set<string>();
  return rows.flatMap((row, index) => {
    const key = [keyOf(row)].flat().join(', ');
    if (seen.has(key)) return [{ path: [index, field], text: `There is a row for ${key} already` }];
    seen.add(key);
    return [];
  });
}

const within =
  (...path: (string | number)[]) =>
  (problem: ShopProblem): ShopProblem => ({ ...problem, path: [...path, ...problem.path] });
