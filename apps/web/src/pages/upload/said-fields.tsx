import { TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import { lookAgainAtAll, type Said, said } from './items.js';

const zones = (): readonly string[] => Intl.supportedValuesOf('timeZone');

/** An entry ends with the click on Send as well: reading anew at once would take the button away under the pointer. */
const AFTER_CLICK_MS = 300;

/** What a person can say about everything dropped; the previews follow what changes them. */
export function SaidFields() {
  const set = (name: keyof Said) => (value: string) => {
    said.value = { ...said.peek(), [name]: value };
  };
  const { vehicle, recorder, timeZone, recordedAt } = said.value;
  return (
    <div class="card row said" onChange={() => setTimeout(lookAgainAtAll, AFTER_CLICK_MS)}>
      <TextInput
        label={t.upload.vehicle}
        hint={t.upload.vehicleHint}
        value={vehicle}
        onInput={set('vehicle')}
        list="vehicle-ids"
      />
      <TextInput label={t.upload.recorder} hint={t.upload.recorderHint} value={recorder} onInput={set('recorder')} />
      <TextInput
        label={t.upload.zone}
        hint={t.upload.zoneHint}
        value={timeZone}
        onInput={set('timeZone')}
        list="zones"
      />
      <TextInput
        label={t.upload.recordedAt}
        hint={t.upload.recordedAtHint}
        type="datetime-local"
        value={recordedAt}
        onInput={set('recordedAt')}
      />
      <datalist id="zones">
        {zones().map((name) => (
          <option key={name} value={name} />
        ))}
      </datalist>
    </div>
  );
}
