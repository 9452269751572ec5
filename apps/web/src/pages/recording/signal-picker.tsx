import { t } from '../../text/text.js';
import { MOST_LANES } from './address-view.js';
import type { Desk } from './desk.js';

/** Adds a lane; also while a replay runs. */
export function SignalPicker({ desk }: { desk: Desk }) {
  const { model, recording } = desk;
  const shown = model.shown.value;
  const others = recording.signals.filter(({ signal, valid }) => valid > 0 && !shown.includes(signal));
  if (others.length === 0) return null;
  return (
    <label class="signal-picker">
      <span>{t.recording.add}</span>
      <select
        value=""
        disabled={shown.length >= MOST_LANES}
        onChange={(event) => {
          if (event.currentTarget.value !== '') model.toggle(event.currentTarget.value);
          event.currentTarget.value = '';
        }}
      >
        <option value="">{t.recording.choose}</option>
        {others.map(({ signal, label, aside }) => (
          <option key={signal} value={signal}>
            {aside ? t.recording.asideOption(label) : label}
          </option>
        ))}
      </select>
    </label>
  );
}
