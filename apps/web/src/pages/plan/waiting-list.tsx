import type { Inspection } from '@tallybay/contracts';
import { vehicleHref } from '../../app/places.js';
import { Table } from '../../kit/table.js';
import { t } from '../../text/text.js';

/** Inspections without a visit, dearest to leave waiting first. */
export function WaitingList({ waiting }: { waiting: readonly Inspection[] }) {
  const rows = waiting.toSorted((a, b) => b.costPerDay - a.costPerDay);
  return (
    <section aria-label={t.plan.waiting}>
      <h2>{t.plan.waiting}</h2>
      {rows.length === 0 ? (
        <p>{t.plan.waitingNone}</p>
      ) : (
        <>
          <p class="quiet">{t.plan.waitingLead}</p>
          <Table
            caption={t.plan.waiting}
            hideCaption
            rows={rows}
            rowKey={({ id }) => id}
            columns={[
              { id: 'why', head: t.plan.columns.why, cell: ({ why }) => why[0]?.text ?? '' },
              {
                id: 'vehicle',
                head: t.plan.columns.vehicle,
                width: '6.5rem',
                cell: ({ vehicle }) => <a href={vehicleHref(vehicle)}>{vehicle}</a>,
              },
              {
                id: 'inspection',
                head: t.plan.columns.inspection,
                width: '12rem',
                cell: ({ label }) => label.split(':')[0],
                from: 620,
              },
              {
                id: 'latest',
                head: t.plan.columns.latest,
                width: '7rem',
                cell: ({ latest }) => latest ?? t.plan.noDate,
              },
              {
                id: 'cost',
                head: t.plan.columns.cost,
                width: '6rem',
                align: 'end',
                cell: ({ costPerDay }) => costPerDay.toFixed(0),
                from: 760,
              },
            ]}
          />
        </>
      )}
    </section>
  );
}
