import { unitChoices, unitLabel } from '../prefs/units.js';
import { t } from '../text/text.js';

interface UnitPickerProps {
  canonical: string;
  unit: string;
  onChange: (unit: string) => void;
  /** What the unit is of, for the label. */
  of: string;
}

/** Switches one plot's unit; nothing where there is no choice. */
export function UnitPicker({ canonical, unit, onChange, of }: UnitPickerProps) {
  const choices = unitChoices(canonical);
  if (choices.length < 2) return null;
  return (
    <select
      class="small"
      aria-label={t.prefs.unitOf(of)}
      value={unit}
      onChange={(event) => onChange(event.currentTarget.value)}
    >
      {choices.map((choice) => (
        <option key={choice} value={choice}>
          {unitLabel(choice)}
        </option>
      ))}
    </select>
  );
}
