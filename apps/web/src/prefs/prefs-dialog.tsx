import { Dialog } from '../kit/dialog.js';
import { t } from '../text/text.js';
import { CHOICES, type Prefs, prefs, setPref } from './prefs.js';

const NAMES = Object.keys(CHOICES) as (keyof Prefs)[];

export const PrefsDialog = ({ onClose }: { onClose: () => void }) => (
  <Dialog title={t.prefs.title} onClose={onClose}>
    <p class="quiet">{t.prefs.where}</p>
    {NAMES.map((name) => (
      <Choice key={name} name={name} />
    ))}
  </Dialog>
);

function Choice<K extends keyof Prefs>({ name }: { name: K }) {
  const labels = t.prefs.choices as Record<string, string>;
  return (
    <fieldset class="choice">
      <legend>{t.prefs.names[name]}</legend>
      {CHOICES[name].map((value) => (
        <label key={value}>
          <input type="radio" name={name} checked={prefs.value[name] === value} onChange={() => setPref(name, value)} />
          {labels[value] ?? value}
        </label>
      ))}
    </fieldset>
  );
}
