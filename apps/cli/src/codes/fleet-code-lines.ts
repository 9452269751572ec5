import type { FleetCodes } from '@tallybay/contracts';
import { plural } from '../output/numbers.js';
import { tableLines, wrapLines } from '../output/table.js';

const TEXT_WIDTH = 110;

/** The fleet's codes for a person: the table, then patterns, pairs and what spreads. @param top codes in the table */
export function fleetCodeLines(fleet: FleetCodes, top = fleet.codes.length): string[] {
  const { vehicleClass, depot, route } = fleet.filters;
  const where = [vehicleClass && `class ${vehicleClass}`, depot && `depot ${depot}`, route && `route ${route}`]
    .filter(Boolean)
    .join(', ');
  const shown = fleet.codes.slice(0, top);
  const left = fleet.codes.length - shown.length;
  return [
    `Codes${where ? ` of ${where}` : ''}: ${fleet.vehiclesRead} of ${plural(fleet.vehicles, 'vehicle')} read in the last 400 days`,
    '',
    ...(shown.length > 0 ? codeTable(shown) : fleet.vehicles > 0 ? ['No codes in what was read.'] : nobodyFits(fleet)),
    ...(left > 0 ? [`… and ${left} more; --top shows another number of them.`] : []),
    ...section('Cleared without repair', fleet.patterns.flatMap(patternLines)),
    ...section('Come together', fleet.together.pairs.flatMap(pairLines)),
    ...section('Spread in a class', fleet.spreading.codes.flatMap(spreadLines)),
    '',
    ...wrapLines(fleet.caution, TEXT_WIDTH),
  ];
}

/** A filter that fits no vehicle is a slip, not a fleet without codes. */
function nobodyFits({ filters, classes, depots, routes }: FleetCodes): string[] {
  const known = [
    { asked: filters.vehicleClass, what: 'classes', names: classes },
    { asked: filters.depot, what: 'depots', names: depots },
    { asked: filters.route, what: 'routes', names: routes },
  ].flatMap(({ asked, what, names }) =>
    asked !== null && names.length > 0 ? wrapLines(`Registered ${what}: ${names.join(', ')}.`, TEXT_WIDTH) : [],
  );
  return ['No vehicle fits, so nothing is known.', ...known];
}

const codeTable = (codes: FleetCodes['codes']): string[] =>
  tableLines(
    [
      { title: 'code' },
      { title: 'now', align: 'right' },
      { title: 'ever', align: 'right' },
      { title: 'back in 30 d', align: 'right' },
      { title: '90 d', align: 'right' },
      { title: '365 d', align: 'right' },
      { title: 'returns in' },
      { title: 'what it means' },
    ],
    codes.map(({ code, active, vehicles, returnsIn, where, text }) => [
      ...[code, String(active), String(vehicles)],
      ...[String(returnsIn.d30), String(returnsIn.d90), String(returnsIn.d365), returningIn(where), text],
    ]),
  );

/** The vehicles in which it came back, the first three by name. */
function returningIn(where: FleetCodes['codes'][number]['where']): string {
  const names = [...new Set(where.filter(({ returnsIn }) => returnsIn.d365 > 0).map(({ vehicle }) => vehicle))];
  return names.length > 3 ? `${names.slice(0, 3).join(' ')} +${names.length - 3}` : names.join(' ');
}

const patternLines = ({ vehicle, text }: FleetCodes['patterns'][number]): string[] =>
  wrapLines(`  ${vehicle}: ${text}`, TEXT_WIDTH, '    ');

const pairLines = ({ codes, both, atOnce, lift, adjusted }: FleetCodes['together']['pairs'][number]): string[] =>
  wrapLines(
    `  ${codes.join(' and ')}: ${plural(both, 'vehicle')} with both, ${atOnce} at the same time; ${lift.toFixed(1)} times as often as by chance (p ${pText(adjusted)})`,
    TEXT_WIDTH,
    '    ',
  );

const spreadLines = (row: FleetCodes['spreading']['codes'][number]): string[] =>
  wrapLines(
    `  ${row.code} in ${row.vehicleClass}: ${plural(row.now.newVehicles, 'new vehicle')} in ${Math.round(row.now.vehicleDays)} vehicle-days, ${row.before.newVehicles} in ${Math.round(row.before.vehicleDays)} before (p ${pText(row.adjusted)}): ${row.vehicles.join(', ')}`,
    TEXT_WIDTH,
    '    ',
  );

const pText = (p: number): string => (p < 0.001 ? 'below 0.001' : p.toFixed(3));

const section = (title: string, lines: readonly string[]): string[] => (lines.length > 0 ? ['', title, ...lines] : []);
