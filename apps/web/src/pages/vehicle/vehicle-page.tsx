import type {
  NoteList,
  RecordingList,
  VehicleCodes,
  VehicleCrossings,
  VehicleEvidence,
  VehicleExtremes,
  VehicleQuality,
  VehicleReadiness,
  VehicleResiduals,
  VehicleWeeks,
} from '@tallybay/contracts';
import type { ComponentChildren } from 'preact';
import { setQuery } from '../../app/location.js';
import type { PageProps } from '../../app/places.js';
import { depotName } from '../../data/depot-names.js';
import { type Resource, useResource } from '../../data/resource.js';
import { Select } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { Codes } from './codes.js';
import { Crossings } from './crossings.js';
import { Episodes } from './episodes.js';
import { Extremes } from './extremes.js';
import { Inspections } from './inspections.js';
import { Notes } from './notes.js';
import { Quality } from './quality.js';
import { Readiness } from './readiness.js';
import { Recordings } from './recordings.js';
import { RouteForm } from './route-form.js';
import { Contents, Section, type SectionId } from './section.js';
import { Settings } from './settings.js';
import { ofVehicle, spanNow, WEEK_CHOICES } from './span.js';
import { Summary } from './summary.js';
import { Temperatures } from './temperatures.js';
import type { VehicleRecord } from './vehicle-record.js';
import { Warning } from './warning.js';
import { worstSignal } from './week-facts.js';
import './vehicle.css';

const PARTS = Object.keys(t.vehicle.sections) as SectionId[];

/** One vehicle: what is wrong, since when, how sure; then the evidence, part by part. */
export function VehiclePage({ at }: PageProps) {
  const id = at.id ?? '';
  const record = useResource<VehicleRecord>(ofVehicle(id, ''));
  return (
    <>
      <PageTitle text={id}>
        <a href="/vehicles">{t.vehicle.all}</a>
      </PageTitle>
      <Loaded of={record} what={t.vehicle.what(id)}>
        {(data) => <OneVehicle key={id} record={data} source={record} />}
      </Loaded>
    </>
  );
}

interface OneVehicleProps {
  record: VehicleRecord;
  source: Resource<VehicleRecord>;
}

function OneVehicle({ record, source }: OneVehicleProps) {
  const { id } = record;
  const asked = spanNow();
  const weeks = useResource<VehicleWeeks>(ofVehicle(id, 'weeks', { ...asked }));
  // Weeks end with the vehicle's newest data; the other parts ask for the same weeks as soon as they are known.
  const span = weeks.state === 'ready' ? { weeks: asked.weeks, until: weeks.data.weeks.at(-1)!.week } : { ...asked };
  const known = weeks.state === 'ready' || weeks.state === 'error';
  const dates = weeks.state === 'ready' ? { from: weeks.data.from, to: weeks.data.to } : { from: null, to: null };
  const when = (path: string) => (known ? path : null);
  const evidence = useResource<VehicleEvidence>(when(ofVehicle(id, 'evidence', span)));
  const quality = useResource<VehicleQuality>(when(ofVehicle(id, 'quality', span)));
  const residuals = useResource<VehicleResiduals>(when(ofVehicle(id, 'residuals', { until: span.until })));
  const crossings = useResource<VehicleCrossings>(when(ofVehicle(id, 'crossings', dates)));
  const codes = useResource<VehicleCodes>(ofVehicle(id, 'codes'));
  const readiness = useResource<VehicleReadiness>(ofVehicle(id, 'readiness'));
  const extremes = useResource<VehicleExtremes>(ofVehicle(id, 'extremes'));
  const notes = useResource<NoteList>(ofVehicle(id, 'notes'));
  const recordings = useResource<RecordingList>(ofVehicle(id, 'recordings'));
  const timeZone = weeks.state === 'ready' ? weeks.data.timeZone : 'UTC';
  return (
    <div class="stack vehicle">
      <p class="vehicle-facts">{factsOf(record)}</p>
      <Summary vehicle={id} sources={{ weeks, codes, readiness, quality, residuals }} evidence={evidence} />
      <Contents parts={PARTS.slice(1)} />
      <WeeksChoice weeks={asked.weeks} />
      {weeks.state === 'ready' ? (
        <Temperatures data={weeks.data} quality={quality.state === 'ready' ? quality.data : null} />
      ) : (
        <Part id="temperatures" of={weeks}>
          {() => null}
        </Part>
      )}
      <Part
        id="episodes"
        of={evidence}
        lead={t.vehicle.episodes.lead}
        empty={(data) => data.episodes.length === 0}
        none={t.vehicle.episodes}
      >
        {(data) => <Episodes data={data} />}
      </Part>
      <Part id="codes" of={codes} lead={t.vehicle.codes.lead}>
        {(data) => <Codes data={data} timeZone={timeZone} />}
      </Part>
      <Part id="readiness" of={readiness}>
        {(data) => <Readiness data={data} timeZone={timeZone} />}
      </Part>
      <Part id="warning" of={residuals} lead={t.vehicle.warning.lead}>
        {(data) => (
          <Warning data={data} timeZone={timeZone} worst={weeks.state === 'ready' ? worstSignal(weeks.data) : null} />
        )}
      </Part>
      <Part
        id="extremes"
        of={extremes}
        lead={t.vehicle.extremes.lead}
        empty={(data) => data.signals.length === 0}
        none={t.vehicle.extremes}
      >
        {(data) => <Extremes data={data} timeZone={timeZone} onReset={extremes.reload} />}
      </Part>
      <Part
        id="crossings"
        of={crossings}
        lead={t.vehicle.crossings.lead}
        empty={(data) => data.crossings.length === 0}
        none={t.vehicle.crossings}
      >
        {(data) => <Crossings data={data} timeZone={timeZone} />}
      </Part>
      <Part
        id="quality"
        of={quality}
        empty={(data) => data.recordings.count === 0 && data.failed.length === 0}
        none={t.vehicle.quality}
      >
        {(data) => <Quality data={data} overlaps={data.overlaps} timeZone={timeZone} />}
      </Part>
      <Section id="inspections">
        <Inspections record={record} source={source} timeZone={timeZone} />
      </Section>
      <Section id="settings" lead={t.vehicle.settings.lead}>
        <RouteForm record={record} source={source} />
        <Settings record={record} source={source} timeZone={timeZone} />
      </Section>
      <Part id="notes" of={notes}>
        {(data) => <Notes vehicle={id} data={data} timeZone={timeZone} onAdded={notes.reload} />}
      </Part>
      <Part id="recordings" of={recordings} empty={(data) => data.recordings.length === 0} none={t.vehicle.recordings}>
        {(data) => <Recordings data={data} timeZone={timeZone} />}
      </Part>
    </div>
  );
}

interface PartProps<T> {
  id: SectionId;
  of: Resource<T>;
  lead?: string;
  empty?: (data: T) => boolean;
  /** What to say when it is empty, and what to do then. */
  none?: { none: string; noneAdvice: string };
  children: (data: T) => ComponentChildren;
}

const Part = <T,>({ id, of, lead, empty, none, children }: PartProps<T>) => (
  <Section id={id} lead={lead}>
    <Loaded
      of={of}
      what={t.vehicle.sections[id].toLowerCase()}
      {...(empty && none ? { empty: { when: empty, title: none.none, children: <p>{none.noneAdvice}</p> } } : {})}
    >
      {children}
    </Loaded>
  </Section>
);

const WeeksChoice = ({ weeks }: { weeks: number }) => (
  <div class="row no-print">
    <Select
      label={t.vehicle.weeks}
      value={String(weeks)}
      options={WEEK_CHOICES.map((count) => ({ value: String(count), text: t.vehicle.weeksChoice(count) }))}
      onChange={(value) => setQuery({ weeks: value })}
    />
  </div>
);

function factsOf(record: VehicleRecord): string {
  return t.vehicle.facts([
    ...(record.name ? [record.name] : []),
    record.vehicleClass.replaceAll('_', ' '),
    depotName(record.depot),
    ...(record.route ? [record.route] : []),
    ...(record.modelYear ? [String(record.modelYear)] : []),
    ...(record.fuel ? [t.vehicle.fuels[record.fuel]] : []),
    ...(record.vin ? [t.vehicle.vin(record.vin)] : []),
  ]);
}
