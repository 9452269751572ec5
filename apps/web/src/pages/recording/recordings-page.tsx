import type { Depot, RecordingList, Vehicle } from '@tallybay/contracts';
import { query, setQuery } from '../../app/location.js';
import type { PageProps } from '../../app/places.js';
import { useResource } from '../../data/resource.js';
import { Select } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Notice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { RecordingTable } from './recording-table.js';

/** The recordings of one vehicle, with dates; from here to one log at full rate. */
export function RecordingsPage(_props: PageProps) {
  const asked = query.value.get('vehicle');
  const vehicles = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const depots = useResource<{ depots: Depot[] }>('/v1/depots');
  const words = t.recordings;
  return (
    <>
      <PageTitle text={asked ? words.titleOf(asked) : words.title} />
      <p class="quiet">{words.lead}</p>
      <Loaded
        of={vehicles}
        what={words.theVehicles}
        empty={{
          when: ({ vehicles: all }) => all.length === 0,
          title: words.noVehicles,
          children: <p>{words.noVehiclesAdvice}</p>,
        }}
      >
        {({ vehicles: all }) => {
          const depot = all.find(({ id }) => id === asked)?.depot;
          const zone =
            depots.state === 'ready' ? depots.data.depots.find(({ id }) => id === depot)?.timeZone : undefined;
          return (
            <div class="stack">
              <div class="row">
                <VehicleSelect vehicles={all} asked={asked} />
              </div>
              {asked ? (
                depots.state !== 'loading' && <Recordings key={asked} vehicle={asked} zone={zone ?? 'UTC'} />
              ) : (
                <Notice kind="info" title={words.chooseVehicle}>
                  <p>{words.chooseAdvice}</p>
                </Notice>
              )}
            </div>
          );
        }}
      </Loaded>
    </>
  );
}

function VehicleSelect({ vehicles, asked }: { vehicles: Vehicle[]; asked: string | null }) {
  const known = vehicles.map(({ id }) => id).sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
  // A vehicle that was unregistered keeps its place while a link names it.
  const ids = asked && !known.includes(asked) ? [asked, ...known] : known;
  return (
    <Select
      label={t.recordings.vehicle}
      value={asked ?? ''}
      options={[
        ...(asked ? [] : [{ value: '', text: t.recordings.chooseVehicle }]),
        ...ids.map((id) => ({ value: id, text: id })),
      ]}
      onChange={(vehicle) => setQuery({ vehicle }, { push: true })}
    />
  );
}

function Recordings({ vehicle, zone }: { vehicle: string; zone: string }) {
  const list = useResource<RecordingList>(`/v1/vehicles/${encodeURIComponent(vehicle)}/recordings`);
  return (
    <Loaded
      of={list}
      what={t.recordings.theRecordings(vehicle)}
      empty={{
        when: ({ recordings }) => recordings.length === 0,
        title: t.recordings.none(vehicle),
        children: (
          <>
            <p>{t.recordings.noneAdvice}</p>
            <a class="button" href="/upload">
              {t.recordings.goUpload}
            </a>
          </>
        ),
      }}
    >
      {(data) => <RecordingTable recordings={data.recordings} zone={zone} />}
    </Loaded>
  );
}
