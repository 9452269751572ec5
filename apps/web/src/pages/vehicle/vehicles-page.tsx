import type { Ranking, Vehicle } from '@tallybay/contracts';
import { useMemo } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { vehicleHref } from '../../app/places.js';
import { depotChoices, depotName, depotNames } from '../../data/depot-names.js';
import { useResource } from '../../data/resource.js';
import { Select, TextInput } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Notice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { type Column, Table } from '../../kit/table.js';
import { Tally } from '../../kit/tally.js';
import { t } from '../../text/text.js';
import { dayText } from './when.js';
import './vehicle.css';

interface Row {
  vehicle: Vehicle;
  /** Of the newest ranking; null = not ranked there, or no ranking. */
  rank: number | null;
  score: number | null;
}

/** Every registered vehicle, to be found by what people know of it. */
export function VehiclesPage() {
  const vehicles = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const newest = useResource<Ranking>('/v1/rankings/latest');
  // Ranks are an addition: without a ranking the list is whole all the same.
  const ranking = newest.state === 'ready' ? newest.data : null;
  return (
    <>
      <PageTitle text={t.vehicles.title} />
      <Loaded
        of={vehicles}
        what={t.vehicles.what}
        empty={{
          when: (data) => data.vehicles.length === 0,
          title: t.vehicles.noneTitle,
          children: <p>{t.vehicles.noneAdvice}</p>,
        }}
      >
        {(data) => <List vehicles={data.vehicles} ranking={ranking} />}
      </Loaded>
    </>
  );
}

function List({ vehicles, ranking }: { vehicles: readonly Vehicle[]; ranking: Ranking | null }) {
  const find = query.value.get('find') ?? '';
  const kind = query.value.get('class') ?? '';
  const depot = query.value.get('depot') ?? '';
  const route = query.value.get('route') ?? '';
  const rows = useMemo(() => {
    const ranked = new Map(ranking?.ranked.map((row) => [row.vehicle, row]));
    return vehicles
      .filter((one) => fits(one, { find, kind, depot, route }))
      .map((vehicle): Row => {
        const row = ranked.get(vehicle.id);
        return { vehicle, rank: row?.rank ?? null, score: row?.score ?? null };
      });
  }, [vehicles, ranking, find, kind, depot, route, depotNames.value]);
  const columns = useMemo(() => columnsOf(ranking), [ranking]);
  return (
    <div class="stack">
      <search class="row no-print">
        <TextInput label={t.vehicles.find} type="search" value={find} onInput={(value) => setQuery({ find: value })} />
        <Choice
          name="class"
          value={kind}
          label={t.ranking.columns.vehicleClass}
          of={vehicles.map((one) => one.vehicleClass)}
        />
        <Select
          label={t.ranking.columns.depot}
          value={depot}
          options={[{ value: '', text: t.ranking.all }, ...depotChoices(vehicles.map((one) => one.depot))]}
          onChange={(chosen) => setQuery({ depot: chosen })}
        />
        <Choice
          name="route"
          value={route}
          label={t.ranking.columns.route}
          of={vehicles.flatMap((one) => one.route ?? [])}
        />
      </search>
      {rows.length === 0 ? (
        <Notice kind="info" title={t.vehicles.noneFits} live>
          <button type="button" onClick={() => setQuery({ find: null, class: null, depot: null, route: null })}>
            {t.vehicles.clear}
          </button>
        </Notice>
      ) : (
        <Table
          caption={t.vehicles.shown(rows.length, vehicles.length)}
          columns={columns}
          rows={rows}
          rowKey={(row) => row.vehicle.id}
          rowHeight={54}
        />
      )}
    </div>
  );
}

const Choice = ({ name, value, label, of }: { name: string; value: string; label: string; of: readonly string[] }) => (
  <Select
    label={label}
    value={value}
    options={[
      { value: '', text: t.ranking.all },
      ...[...new Set(of)].toSorted().map((one) => ({ value: one, text: one.replaceAll('_', ' ') })),
    ]}
    onChange={(chosen) => setQuery({ [name]: chosen })}
  />
);

function fits(vehicle: Vehicle, by: { find: string; kind: string; depot: string; route: string }): boolean {
  if (by.kind !== '' && vehicle.vehicleClass !== by.kind) return false;
  if (by.depot !== '' && vehicle.depot !== by.depot) return false;
  if (by.route !== '' && vehicle.route !== by.route) return false;
  const { id, name, vin, vehicleClass, depot, route, modelYear } = vehicle;
  const text = [id, name, vin, vehicleClass, depot, depotName(depot), route, modelYear].join(' ').toLowerCase();
  return by.find
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.includes(word));
}

const columnsOf = (ranking: Ranking | null): Column<Row>[] => [
  {
    id: 'vehicle',
    head: t.vehicles.columns.vehicle,
    cell: ({ vehicle }) => (
      <>
        <a class="vehicle-link" href={vehicleHref(vehicle.id)}>
          {vehicle.id}
        </a>
        {vehicle.name && <span class="second">{vehicle.name}</span>}
      </>
    ),
  },
  {
    id: 'kind',
    head: t.vehicles.columns.kind,
    // With the rank it leaves a phone's width for the vehicle.
    width: '8.4rem',
    cell: ({ vehicle }) => (
      <>
        {vehicle.vehicleClass.replaceAll('_', ' ')}
        <span class="second">{depotName(vehicle.depot)}</span>
      </>
    ),
  },
  {
    id: 'route',
    head: t.ranking.columns.route,
    width: '13rem',
    from: 760,
    cell: ({ vehicle }) => vehicle.route ?? <span class="missing">{t.states.noValue}</span>,
  },
  {
    id: 'year',
    head: t.vehicles.columns.year,
    width: '5rem',
    align: 'end',
    from: 620,
    cell: ({ vehicle }) => vehicle.modelYear ?? <span class="missing">{t.states.noValue}</span>,
  },
  {
    id: 'rank',
    head: t.vehicles.columns.rank,
    width: '7.4rem',
    cell: ({ rank, score }) =>
      rank === null || !ranking ? (
        <span class="missing">{ranking ? t.vehicles.notRanked : t.vehicles.noRanking}</span>
      ) : (
        <>
          <Tally score={score} />
          <span class="second">{t.vehicles.rank(rank, ranking.ranked.length)}</span>
        </>
      ),
  },
  {
    id: 'due',
    head: t.vehicles.columns.due,
    width: '9rem',
    from: 560,
    cell: ({ vehicle }) =>
      vehicle.inspectionDue ? dayText(vehicle.inspectionDue) : <span class="missing">{t.readiness.noDue}</span>,
  },
];
