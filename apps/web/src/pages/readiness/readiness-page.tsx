import type { FleetReadiness } from '@tallybay/contracts';
import { useMemo } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { depotChoices } from '../../data/depot-names.js';
import { useResource } from '../../data/resource.js';
import { Select } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { type DueRow, DueTable } from './due-table.js';
import { ForecastPanel } from './forecast-panel.js';
import './readiness.css';

/** The planner's page: who would be refused or fail at the next inspection, soonest due first, and what until then. */
export function ReadinessPage() {
  const fleet = useResource<FleetReadiness>('/v1/fleet/readiness');
  return (
    <>
      <PageTitle text={t.readiness.title} />
      <Loaded
        of={fleet}
        what={t.readiness.what}
        empty={{
          when: ({ vehicles }) => vehicles.length === 0,
          title: t.readiness.noVehicles,
          children: <p>{t.readiness.noVehiclesAdvice}</p>,
        }}
      >
        {(data) => <Fleet data={data} />}
      </Loaded>
    </>
  );
}

function Fleet({ data }: { data: FleetReadiness }) {
  const programme = programmeNow(data);
  const show = query.value.get('show') ?? '';
  const depot = query.value.get('depot') ?? '';
  const route = query.value.get('route') ?? '';
  const open = query.value.get('vehicle');
  const all = useMemo(() => dueRows(data, programme), [data, programme]);
  const rows = useMemo(
    () =>
      all.filter(
        (row) =>
          (depot === '' || row.depot === depot) &&
          (route === '' || row.route === route) &&
          (show === '' || row.verdict === show),
      ),
    [all, depot, route, show],
  );
  const routes = [...new Set(data.vehicles.flatMap((row) => row.route ?? []))].toSorted();
  const depots = depotChoices(data.vehicles.map((row) => row.depot));
  return (
    <div class="stack">
      <Caution text={data.caution} />
      <Counts rows={all} />
      <search class="row no-print">
        <Select
          label={t.readiness.programme}
          value={programme}
          options={data.programmes.map(({ id, label }) => ({ value: id, text: label }))}
          onChange={(value) => setQuery({ programme: value })}
        />
        <Select
          label={t.readiness.verdict}
          value={show}
          options={[
            { value: '', text: t.ranking.all },
            ...Object.entries(t.readiness.verdicts).map(([value, text]) => ({ value, text })),
          ]}
          onChange={(value) => setQuery({ show: value })}
        />
        <Select
          label={t.ranking.columns.depot}
          value={depot}
          options={[{ value: '', text: t.ranking.all }, ...depots]}
          onChange={(value) => setQuery({ depot: value })}
        />
        <Select
          label={t.ranking.columns.route}
          value={route}
          options={[{ value: '', text: t.ranking.all }, ...routes.map((value) => ({ value, text: value }))]}
          onChange={(value) => setQuery({ route: value })}
        />
      </search>
      {open && <ForecastPanel key={open} id={open} data={data} />}
      <DueTable rows={rows} of={all.length} current={open} />
      <p>
        <a href="/codes">{t.forecast.returning}</a>
      </p>
    </div>
  );
}

function programmeNow(data: FleetReadiness): string {
  const asked = query.value.get('programme');
  return data.programmes.some(({ id }) => id === asked) && asked ? asked : (data.programmes[0]?.id ?? '');
}

const dueRows = (data: FleetReadiness, programme: string): DueRow[] =>
  data.vehicles.flatMap(({ verdicts, ...vehicle }) => {
    const found = verdicts.find((verdict) => verdict.programme === programme);
    if (!found) return [];
    const { verdict, readyByDate, why } = found;
    return [{ ...vehicle, verdict, readyByDate, why: why.join(' ') }];
  });

/** How many of each verdict; a count is a filter. */
function Counts({ rows }: { rows: readonly DueRow[] }) {
  return (
    <ul class="counts">
      {Object.entries(t.readiness.verdicts).map(([verdict, text]) => (
        <li key={verdict}>
          <button type="button" onClick={() => setQuery({ show: verdict })}>
            <strong>{rows.filter((row) => row.verdict === verdict).length}</strong> {text}
          </button>
        </li>
      ))}
    </ul>
  );
}
