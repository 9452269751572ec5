import type { FleetCodes } from '@tallybay/contracts';
import { useMemo } from 'preact/hooks';
import { addressOf, path, query } from '../../app/location.js';
import { Notice } from '../../kit/notice.js';
import { type Column, Table } from '../../kit/table.js';
import { t } from '../../text/text.js';

type Code = FleetCodes['codes'][number];

/** The address of this page with one code open; the filters stay. */
const openHref = (code: string): string => addressOf(path.peek(), { ...Object.fromEntries(query.peek()), code });

const returnsColumn = (id: 'd30' | 'd90' | 'd365', from?: number): Column<Code> => ({
  id,
  head: t.codes.list[id],
  width: '6.4rem',
  align: 'end',
  ...(from === undefined ? {} : { from }),
  cell: ({ returnsIn }) => <span class="number">{returnsIn[id]}</span>,
});

const COLUMNS: readonly Column<Code>[] = [
  {
    id: 'code',
    head: t.codes.list.code,
    cell: ({ code, text }) => (
      <>
        <a class="vehicle-link" href={openHref(code)} title={t.codes.list.open(code)}>
          {code}
        </a>
        <span class="second two-lines" title={text}>
          {text}
        </span>
      </>
    ),
  },
  {
    id: 'now',
    head: t.codes.list.now,
    width: '7.5rem',
    from: 480,
    cell: ({ active, vehicles }) => (
      <>
        <span class="number">{t.codes.list.nowText(active, vehicles)}</span>
        <span class="second">{t.codes.list.nowNote}</span>
      </>
    ),
  },
  returnsColumn('d30', 700),
  returnsColumn('d90'),
  returnsColumn('d365', 700),
];

/** Every code seen in the fleet, those that return most first. */
export function CodeList({ data, current }: { data: FleetCodes; current: string | null }) {
  const find = (query.value.get('find') ?? '').trim().toLowerCase();
  const show = query.value.get('show') ?? 'all';
  const rows = useMemo(() => data.codes.filter((row) => fits(row, find, show)), [data, find, show]);
  if (data.codes.length === 0) return <Notice kind="info" title={t.codes.none(data.vehiclesRead)} />;
  if (rows.length === 0) return <Notice kind="info" title={t.codes.list.noneFits} live />;
  return (
    <div>
      <Table
        caption={t.codes.list.caption(rows.length, data.codes.length)}
        columns={COLUMNS}
        rows={rows}
        rowHeight={68}
        rowKey={(row) => row.code}
        current={current}
      />
    </div>
  );
}

function fits(row: Code, find: string, show: string): boolean {
  if (show === 'returning' && row.returnsIn.d365 === 0) return false;
  if (show === 'now' && row.active === 0) return false;
  const text = [row.code, row.text, ...row.where.map(({ vehicle }) => vehicle)].join(' ').toLowerCase();
  return text.includes(find);
}
