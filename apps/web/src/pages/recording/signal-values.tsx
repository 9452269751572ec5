import type { SignalFigures } from '@tallybay/contracts';
import { inUnit, shownUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { valueAt } from './cursor-rows.js';
import type { Desk } from './desk.js';
import type { RecordingModel } from './recording-model.js';

/** The unit of one lane where it was switched, else the reader's. */
export const unitOf = (model: RecordingModel, { signal, unit }: SignalFigures): string =>
  model.units.value[signal] ?? shownUnit(unit);

/** Digits after the point, by unit: as fine as recorders write; what is not listed gets two. */
const DIGITS: Readonly<Record<string, number>> = Object.fromEntries([
  ...['rpm'].map((unit) => [unit, 0] as const),
  ...['degC', 'degF', '%', 'kPa', 'km', 'mi', 'km/h', 'mph', 'deg'].map((unit) => [unit, 1] as const),
  ...['bar', '1'].map((unit) => [unit, 3] as const),
]);
const DIGITS_OF_SIGNAL: Readonly<Record<string, number>> = { latitude_deg: 5, longitude_deg: 5 };
const USUAL_DIGITS = 2;

/** Nothing is known of how fine a channel beyond the catalogue is: as many digits as its values are kept with. */
const AS_WRITTEN = new Intl.NumberFormat(t.locale, { maximumSignificantDigits: 7 });

/** A value of this signal in its unit. */
export function numberText(model: RecordingModel, figures: SignalFigures, value: number): string {
  const unit = unitOf(model, figures);
  if (figures.aside) return AS_WRITTEN.format(inUnit(value, figures.unit, unit));
  const digits = DIGITS_OF_SIGNAL[figures.signal] ?? DIGITS[unit] ?? USUAL_DIGITS;
  return formatOf(digits).format(inUnit(value, figures.unit, unit));
}

/** Made once for each number of digits: making one takes longer than everything else about a value. */
const formats = new Map<number, Intl.NumberFormat>();

function formatOf(digits: number): Intl.NumberFormat {
  const known = formats.get(digits);
  if (known) return known;
  const made = new Intl.NumberFormat(t.locale, { minimumFractionDigits: digits, maximumFractionDigits: digits });
  formats.set(digits, made);
  return made;
}

/** Ratios have no unit to write. */
export const unitText = (unit: string): string => (unit === '1' ? '' : unitLabel(unit));

export const quantityOf = (model: RecordingModel, figures: SignalFigures, value: number): string =>
  `${numberText(model, figures, value)} ${unitText(unitOf(model, figures))}`.trimEnd();

/** The value that holds at the cursor; about, while rows are on their way; in words where there is none. */
export function ValueNow({ model, figures }: { model: RecordingModel; figures: SignalFigures }) {
  // Read so that the text follows what arrives.
  model.source.arrivals.value;
  const found = valueAt(model.source.tiles, figures.signal, model.readMs.value);
  if (!found) return <span class="missing value-now">{t.states.noValue}</span>;
  return (
    <span class="value-now number">
      {found.exact ? '' : t.recording.about}
      {numberText(model, figures, found.value)}
    </span>
  );
}

/** Lowest or highest of the recording, which is also the way there. */
export function ExtremeButton({ desk, figures, end }: { desk: Desk; figures: SignalFigures; end: 'min' | 'max' }) {
  const { model, zone } = desk;
  const value = figures[end];
  const at = end === 'min' ? figures.minAt : figures.maxAt;
  if (value === null || at === null) return <span class="missing">{t.states.noValue}</span>;
  const atMs = Date.parse(at);
  const words = t.recording[end](figures.label, quantityOf(model, figures, value), zone.full(atMs));
  return (
    <button type="button" class="plain extreme" title={words} aria-label={words} onClick={() => model.goTo(atMs)}>
      <span aria-hidden="true">{end === 'min' ? '▾' : '▴'}</span>
      {numberText(model, figures, value)}
    </button>
  );
}
