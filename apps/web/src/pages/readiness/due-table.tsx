import type { FleetReadiness } from '@tallybay/contracts';
import { addressOf, path, query } from '../../app/location.js';
import { vehicleHref } from '../../app/places.js';
import { depotName } from '../../data/depot-names.js';
import { Notice } from '../../kit/notice.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { type Column, Table } from '../../kit/table.js';
import { t } from '../../text/text.js';

type Vehicle = FleetReadiness['vehicles'][number];
type Verdict = Vehicle['verdicts'][number];
export type DueRow = Omit<Vehicle, 'verdicts'> & Pick<Verdict, 'verdict' | 'readyByDate'> & { why: string };

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
    // What a phone of 360 px has beside the other columns.
    width: 'min(7rem, 100vw - 19rem)',
    cell: (row) => (
      <>
        <a class="vehicle-link" href={vehicleHref(row.vehicle)}>
          {row.vehicle}
        </a>
        <span class="second wrap">
          {row.vehicleClass.replaceAll('_', ' ')}, {depotName(row.depot)}
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
    // The first three fit a phone together.
    width: '9rem',
    cell: (row) => (
      <span class="verdict-cell">
        <a
          class="verdict-link"
          href={openHref(row.vehicle)}
          aria-label={`${t.readiness.verdicts[row.verdict]}. ${t.forecast.open(row.vehicle)}`}
        >
          <Mark kind={KINDS[row.verdict]} text={t.readiness.verdicts[row.verdict]} />
        </a>
        {row.stale && (
          <span class="block">
            <Mark kind="caution" text={t.readiness.stale} />
          </span>
        )}
        {row.hiddenClear && (
          <span class="block">
            <Mark kind="caution" text={t.forecast.hiddenShort} />
          </span>
        )}
      </span>
    ),
  },
  {
    id: 'forecast',
    head: t.forecast.head,
    width: '11rem',
    from: 560,
    cell: (row) => (
      <span class="two-lines" title={byThen(row)}>
        {byThen(row)}
      </span>
    ),
  },
  {
    id: 'why',
    head: t.ranking.why,
    from: 760,
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
    from: 900,
    cell: (row) =>
      row.newestSnapshot ? dateText(row.newestSnapshot) : <span class="missing">{t.readiness.noSnapshot}</span>,
  },
];

/** The address of this page with one vehicle open; the filters stay. */
const openHref = (vehicle: string): string => addressOf(path.peek(), { ...Object.fromEntries(query.peek()), vehicle });

function byThen({ readyByDate, forecast }: DueRow): string {
  if (forecast && forecast.monitors.length === 0) return t.forecast.allDone;
  if (!readyByDate) return t.forecast.noForecast;
  return t.forecast.ready(readyByDate.chance, readyByDate.low, readyByDate.high);
}

export const DueTable = ({ rows, of, current }: { rows: readonly DueRow[]; of: number; current: string | null }) =>
  rows.length > 0 ? (
    <Table
      caption={t.readiness.shown(rows.length, of)}
      columns={COLUMNS}
      rows={rows}
      rowHeight={76}
      rowKey={(row) => row.vehicle}
      current={current}
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
