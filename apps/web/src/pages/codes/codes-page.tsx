import type { FleetCodes } from '@tallybay/contracts';
import { addressOf, query, setQuery } from '../../app/location.js';
import { depotChoices } from '../../data/depot-names.js';
import { useResource } from '../../data/resource.js';
import { Select, TextInput } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution, Notice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { CodeDetail } from './code-detail.js';
import { CodeList } from './code-list.js';
import { Patterns } from './patterns.js';
import { Spreading } from './spreading.js';
import { Together } from './together.js';
import './codes.css';

/** Which codes return where, which were cleared without repair, which come together, which spread. */
export function CodesPage() {
  const given = query.value;
  const filters = { class: given.get('class'), depot: given.get('depot'), route: given.get('route') };
  const fleet = useResource<FleetCodes>(addressOf('/v1/codes', filters));
  return (
    <>
      <PageTitle text={t.codes.title} />
      <Loaded
        of={fleet}
        what={t.codes.what}
        empty={{
          when: ({ classes }) => classes.length === 0,
          title: t.codes.noVehicles,
          children: <p>{t.codes.noVehiclesAdvice}</p>,
        }}
      >
        {(data) => <Fleet data={data} />}
      </Loaded>
    </>
  );
}

function Fleet({ data }: { data: FleetCodes }) {
  const code = query.value.get('code');
  return (
    <div class="stack">
      <Caution text={data.caution} />
      <Filters data={data} />
      {data.vehiclesRead === 0 ? (
        <Notice kind="info" title={t.codes.noneRead}>
          <p>{t.codes.noneReadAdvice}</p>
        </Notice>
      ) : (
        <>
          <p class="quiet">{t.codes.read(data.vehiclesRead, data.vehicles)}</p>
          <div class={code ? 'codes-split' : undefined}>
            <CodeList data={data} current={code} />
            {code && <CodeDetail key={code} code={code} data={data} />}
          </div>
          <Patterns data={data} />
          <Together data={data} />
          <Spreading data={data} />
        </>
      )}
    </div>
  );
}

function Filters({ data }: { data: FleetCodes }) {
  const words = t.codes.filters;
  const choices = (values: readonly string[]) => [
    { value: '', text: words.all },
    ...values.map((value) => ({ value, text: value.replaceAll('_', ' ') })),
  ];
  return (
    <search class="row no-print">
      <TextInput
        label={words.find}
        type="search"
        value={query.value.get('find') ?? ''}
        onInput={(value) => setQuery({ find: value })}
      />
      <Select
        label={words.show}
        value={query.value.get('show') ?? 'all'}
        options={Object.entries(t.codes.show).map(([value, text]) => ({ value, text }))}
        onChange={(value) => setQuery({ show: value === 'all' ? null : value })}
      />
      <Select
        label={words.vehicleClass}
        value={data.filters.vehicleClass ?? ''}
        options={choices(data.classes)}
        onChange={(value) => setQuery({ class: value })}
      />
      <Select
        label={words.depot}
        value={data.filters.depot ?? ''}
        options={[{ value: '', text: words.all }, ...depotChoices(data.depots)]}
        onChange={(value) => setQuery({ depot: value })}
      />
      <Select
        label={t.ranking.columns.route}
        value={data.filters.route ?? ''}
        options={choices(data.routes)}
        onChange={(value) => setQuery({ route: value })}
      />
    </search>
  );
}
