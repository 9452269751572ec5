import type { Visit } from '@tallybay/contracts';
import { useEffect, useState } from 'preact/hooks';
import { addressOf } from '../../app/location.js';
import { type Resource, useResource } from '../../data/resource.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { Wide } from './section.js';
import { useVehicleEdit, type VehicleRecord } from './vehicle-record.js';
import { daysUntil, dayText } from './when.js';

interface InspectionsProps {
  record: VehicleRecord;
  source: Resource<VehicleRecord>;
  timeZone: string;
}

/** The registered due date, and visits to the shop where this installation plans them. */
export function Inspections({ record, source, timeZone }: InspectionsProps) {
  const { inspectionDue } = record;
  const [date, setDate] = useState(inspectionDue ?? '');
  const edit = useVehicleEdit(record, source);
  useEffect(() => setDate(inspectionDue ?? ''), [record.version]);
  const words = t.vehicle.inspections;
  return (
    <>
      <p>
        {inspectionDue ? (
          <>
            {words.due}{' '}
            <strong>
              {words.dueText(dayText(inspectionDue), t.readiness.dueIn(daysUntil(inspectionDue, timeZone)))}
            </strong>
            .
          </>
        ) : (
          words.none
        )}
      </p>
      <form
        class="row no-print"
        onSubmit={(event) => {
          event.preventDefault();
          void edit.save({ inspectionDue: date === '' ? undefined : date });
        }}
      >
        <TextInput label={words.edit} type="date" value={date} onInput={setDate} />
        <button type="submit" disabled={edit.busy || date === (inspectionDue ?? '')}>
          {words.save}
        </button>
      </form>
      {edit.saved && <Notice kind="good" title={words.saved} live />}
      {edit.problem && <ProblemNotice problem={edit.problem} onRetry={source.reload} />}
      <Visits vehicle={record.id} />
    </>
  );
}

/** Nothing at all where the shop plan does not answer: it may not be used here. */
function Visits({ vehicle }: { vehicle: string }) {
  const plan = useResource<{ visits: Visit[] }>(addressOf('/v1/plan/visits', { vehicle }));
  if (plan.state !== 'ready') return null;
  const visits = plan.data.visits
    .filter((visit) => visit.vehicle === vehicle)
    .toSorted((a, b) => (a.day < b.day ? 1 : -1));
  const words = t.vehicle.inspections;
  return (
    <>
      <h3>{words.visits}</h3>
      {visits.length === 0 ? (
        <p>{words.noVisits}</p>
      ) : (
        <Wide label={words.visits}>
          <table class="facts tight">
            <caption class="only-read">{words.visits}</caption>
            <thead>
              <tr>
                <th scope="col">{words.visit.day}</th>
                <th scope="col">{words.visit.bay}</th>
                <th scope="col">{words.visit.what}</th>
                <th scope="col">{words.visit.state}</th>
              </tr>
            </thead>
            <tbody>
              {visits.map((visit) => (
                <tr key={visit.id}>
                  <td class="nowrap">
                    {visit.lastDay === visit.day
                      ? dayText(visit.day)
                      : words.toDay(dayText(visit.day), dayText(visit.lastDay))}
                  </td>
                  <td>{visit.bay}</td>
                  <td>{visit.inspections.map(({ label }) => label).join(', ')}</td>
                  <td>{words.states[visit.state] ?? visit.state}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      )}
    </>
  );
}
