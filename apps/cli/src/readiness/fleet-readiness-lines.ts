import type { FleetReadiness } from '@tallybay/contracts';
import { plural } from '../output/numbers.js';
import { tableLines, wrapLines } from '../output/table.js';
import { chanceText, VERDICT_WORDS } from './readiness-words.js';

const TEXT_WIDTH = 110;

/** The fleet by inspection date under one programme, then hidden clears. The caution comes with it. */
export function fleetReadinessLines(
  fleet: FleetReadiness,
  { programme, withinDays }: { programme: string; withinDays: number | null },
): string[] {
  const label = fleet.programmes.find(({ id }) => id === programme)?.label ?? programme;
  const rows = fleet.vehicles.filter(
    ({ dueInDays }) => withinDays === null || (dueInDays !== null && dueInDays <= withinDays),
  );
  const hidden = rows.flatMap(({ vehicle, hiddenClear }) =>
    hiddenClear ? wrapLines(`  ${vehicle}: ${hiddenClear.text}`, TEXT_WIDTH, '    ') : [],
  );
  return [
    `${label}: ${plural(rows.length, 'vehicle')}, soonest due first`,
    '',
    ...(rows.length > 0 ? dueTable(rows, programme) : ['No vehicle fits.']),
    ...(hidden.length > 0 ? ['', 'Cleared lately', ...hidden] : []),
    '',
    ...wrapLines(fleet.caution, TEXT_WIDTH),
  ];
}

const dueTable = (rows: FleetReadiness['vehicles'], programme: string): string[] =>
  tableLines(
    [
      { title: 'vehicle' },
      { title: 'class' },
      { title: 'depot' },
      { title: 'due' },
      { title: 'days', align: 'right' },
      { title: 'at an inspection' },
      { title: 'monitors ready by then' },
      { title: 'why' },
    ],
    rows.map((row) => {
      const found = row.verdicts.find((verdict) => verdict.programme === programme);
      const open = row.forecast?.monitors.length ?? 0;
      const ready = found?.readyByDate ? chanceText(found.readyByDate) : open > 0 ? 'cannot be said' : '';
      return [
        ...[row.vehicle, row.vehicleClass, row.depot, row.inspectionDue ?? 'no date', String(row.dueInDays ?? '')],
        ...[found ? VERDICT_WORDS[found.verdict] : '', ready],
        `${row.stale ? 'Old reading. ' : ''}${found?.why.join(' ') ?? ''}`,
      ];
    }),
  );
