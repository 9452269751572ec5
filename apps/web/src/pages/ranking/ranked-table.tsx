import type { RankedVehicle } from '@tallybay/contracts';
import { Icon } from '../../app/icon.js';
import { addressOf, query, setQuery } from '../../app/location.js';
import { depotName } from '../../data/depot-names.js';
import { type Column, Table } from '../../kit/table.js';
import { Tally } from '../../kit/tally.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { driverOf, isSortable, type RankingSort, reasonsOf } from './ranking-rows.js';

const componentCell = (name: 'heat' | 'codes' | 'readiness') => (row: RankedVehicle) => (
  <span title={row[name].note ?? undefined}>
    <Tally score={row[name].score} missing={t.ranking.componentStates[row[name].state]} />
  </span>
);

const COLUMNS: readonly Column<RankedVehicle>[] = [
  { id: 'rank', head: t.ranking.columns.rank, width: '4rem', align: 'end', sortable: true, cell: (row) => row.rank },
  {
    id: 'vehicle',
    head: t.ranking.columns.vehicle,
    // What a phone of 360 px has beside the other columns.
    width: 'min(11.5rem, 100vw - 18rem)',
    sortable: true,
    cell: (row) => (
      <>
        <a class="vehicle-link" href={addressOf('/ranking', { ...Object.fromEntries(query.value), why: row.vehicle })}>
          {row.vehicle}
        </a>
        <span class="second">
          {row.vehicleClass.replaceAll('_', ' ')}, {depotName(row.depot)}
        </span>
      </>
    ),
  },
  {
    id: 'score',
    head: t.ranking.columns.score,
    width: '7.6rem',
    sortable: true,
    cell: (row) => (
      <>
        <Tally score={row.score} />
        <Coverage row={row} />
      </>
    ),
  },
  { id: 'driver', head: t.ranking.columns.driver, from: 480, cell: (row) => <Because row={row} /> },
  { id: 'heat', head: t.components.heat, width: '7.6rem', from: 1150, sortable: true, cell: componentCell('heat') },
  { id: 'codes', head: t.components.codes, width: '7.6rem', from: 1150, sortable: true, cell: componentCell('codes') },
  {
    id: 'readiness',
    head: t.components.readiness,
    width: '7.6rem',
    from: 1150,
    sortable: true,
    cell: componentCell('readiness'),
  },
  {
    id: 'change',
    head: t.ranking.columns.change,
    width: '5.6rem',
    from: 560,
    sortable: true,
    cell: (row) => <Change row={row} />,
  },
  {
    id: 'why',
    head: t.ranking.columns.why,
    width: '4.6rem',
    cell: (row) => (
      <button
        type="button"
        class="small no-print"
        aria-label={t.ranking.whyOf(row.vehicle)}
        aria-pressed={query.value.get('why') === row.vehicle}
        onClick={() => setQuery({ why: row.vehicle })}
      >
        {t.ranking.why}
      </button>
    ),
  },
];

interface RankedTableProps {
  rows: readonly RankedVehicle[];
  sort: RankingSort;
  caption: string;
  current: string | null;
}

export const RankedTable = ({ rows, sort, caption, current }: RankedTableProps) => (
  <Table
    caption={caption}
    columns={COLUMNS}
    rows={rows}
    rowHeight={56}
    rowKey={(row) => row.vehicle}
    sort={sort}
    current={current}
    onSort={(by) => {
      const down = by === sort.by ? !sort.down : ['score', 'heat', 'codes', 'readiness'].includes(by);
      if (isSortable(by)) setQuery({ sort: by === 'rank' && !down ? null : `${down ? '-' : ''}${by}` });
    }}
  />
);

function Because({ row }: { row: RankedVehicle }) {
  const driver = driverOf(row);
  const first = reasonsOf(row)[0];
  const text = first ? sentenceInUnits(first.text) : missingText(row);
  return (
    <span class="two-lines" title={text}>
      {driver && <strong>{t.components[driver]}: </strong>}
      {text}
    </span>
  );
}

/** Nothing speaks against the vehicle; what could not be judged is said instead of calling it healthy. */
function missingText(row: RankedVehicle): string {
  const missing = (['heat', 'codes', 'readiness'] as const).filter((name) => row[name].score === null);
  if (missing.length === 0) return t.ranking.nothingStands;
  return t.ranking.notJudged(missing.map((name) => t.components[name].toLowerCase()).join(', '));
}

function Change({ row }: { row: RankedVehicle }) {
  const { rank } = row.change;
  if (rank === null) return <span class="missing">{t.ranking.newHere}</span>;
  if (rank === 0)
    return (
      <span class="change">
        <Icon name="same" /> {t.ranking.same}
      </span>
    );
  return (
    <span class="change">
      <Icon name={rank > 0 ? 'up' : 'down'} />
      <span class="only-read">{rank > 0 ? t.ranking.up : t.ranking.down} </span>
      {Math.abs(rank)}
    </span>
  );
}

const Coverage = ({ row }: { row: RankedVehicle }) => (
  <span class="second" title={t.ranking.coverageLong(row.coverage)}>
    {t.ranking.dataOf} {Math.round(row.coverage.share * 3)}/3 · {row.coverage.engineHours.toFixed(1)} h
  </span>
);
