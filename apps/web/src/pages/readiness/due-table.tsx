import type { FleetReadiness } from '@tallybay/contracts';
import { vehicleHref } from '../../app/places.js';
import { Notice } from '../../kit/notice.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { type Column, Table } from '../../kit/table.js';
import { t } from '../../text/text.js';

type Vehicle = FleetReadiness['vehicles'][number];
export type DueRow = Omit<Vehicle, 'verdicts'> & { verdict: Vehicle['verdicts'][number]['verdict']; why: string };

const KINDS: Record<DueRow['verdict'], MarkKind> = {
  would_pass: 'good',
  would_be_refused: 'caution',
  would_fail: 'bad',
  not_enough_data: 'unknown',
  not_subject: 'unknown',
};

const COLUMNS: readonly Column<DueRow>[] = [
  {
    id: 'vehicle',
    head: t.ranking.columns.vehicle,
    width: '7.4rem',
    cell: (row) => (
      <>
        <a class="vehicle-link" href={vehicleHref(row.vehicle)}>
          {row.vehicle}
        </a>
        <span class="second">
          {row.vehicleClass.replaceAll('_', ' ')}, {row.depot}
        </span>
      </>
    ),
  },
  {
    id: 'due',
    head: t.readiness.due,
    width: '8rem',
    cell: (row) => (
      <>
        {row.inspectionDue ? dateText(row.inspectionDue) : <span class="missing">{t.readiness.noDue}</span>}
        {row.dueInDays !== null && <span class="second">{t.readiness.dueIn(row.dueInDays)}</span>}
      </>
    ),
  },
  {
    id: 'verdict',
    head: t.readiness.verdict,
    width: '8.4rem',
    cell: (row) => (
      <span class="verdict-cell">
        <Mark kind={KINDS[row.verdict]} text={t.readiness.verdicts[row.verdict]} />
      </span>
    ),
  },
  {
    id: 'why',
    head: t.ranking.why,
    from: 620,
    cell: (row) => (
      <span class="two-lines" title={row.why}>
        {row.why}
      </span>
    ),
  },
  {
    id: 'snapshot',
    head: t.readiness.snapshot,
    width: '9rem',
    from: 800,
    cell: (row) =>
      row.newestSnapshot ? dateText(row.newestSnapshot) : <span class="missing">{t.readiness.noSnapshot}</span>,
  },
];

export const DueTable = ({ rows, of }: { rows: readonly DueRow[]; of: number }) =>
  rows.length > 0 ? (
    <Table
      caption={t.readiness.shown(rows.length, of)}
      columns={COLUMNS}
      rows={rows}
      rowHeight={56}
      rowKey={(row) => row.vehicle}
    />
  ) : (
    <Notice kind="info" title={t.readiness.noneFits} live />
  );

/** A date without a time is the same day everywhere, so it is not moved into the reader's zone. */
export const dateText = (text: string): string =>
  new Date(text).toLocaleDateString(t.locale, {
    dateStyle: 'medium',
    ...(text.includes('T') ? {} : { timeZone: 'UTC' }),
  });
