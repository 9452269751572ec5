import { useEffect, useState } from 'preact/hooks';
import type { Resource } from '../../data/resource.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { useVehicleEdit, type VehicleRecord } from './vehicle-record.js';

/** As `vehicleSchema` of the contracts has it. */
const MAX_LENGTH = 80;

/** The round or district that the vehicle usually works: what the ranking, readiness and codes are filtered by. */
export function RouteForm({ record, source }: { record: VehicleRecord; source: Resource<VehicleRecord> }) {
  const stored = record.route ?? '';
  const [text, setText] = useState(stored);
  const edit = useVehicleEdit(record, source);
  useEffect(() => setText(record.route ?? ''), [record.version]);
  const words = t.vehicle.route;
  const wanted = text.trim();
  const tooLong = wanted.length > MAX_LENGTH;
  return (
    <>
      <form
        class="row no-print"
        onSubmit={(event) => {
          event.preventDefault();
          void edit.save({ route: wanted === '' ? undefined : wanted });
        }}
      >
        <TextInput
          label={words.label}
          hint={words.hint}
          value={text}
          error={tooLong ? words.tooLong(MAX_LENGTH) : null}
          onInput={setText}
        />
        <button type="submit" disabled={edit.busy || tooLong || wanted === stored}>
          {words.save}
        </button>
      </form>
      {edit.problem && <ProblemNotice problem={edit.problem} onRetry={source.reload} />}
      {edit.saved && wanted === stored && <Notice kind="good" title={words.saved} live />}
    </>
  );
}
