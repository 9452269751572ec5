import type { SignalFigures } from '@tallybay/contracts';
import { inUnit, shownUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { valueAt } from './cursor-rows.js';
import type { Desk } from './desk.js';
import { digitsFor } from './lane-scale.js';
import type { RecordingModel } from './recording-model.js';

/** The unit of one lane where it was switched, else the reader's. */
export const unitOf = (model: RecordingModel, { signal, unit }: SignalFigures): string =>
  model.units.value[signal] ?? shownUnit(unit);

/** A value of this signal in its unit, with the digits that its range needs. */
export function numberText(model: RecordingModel, figures: SignalFigures, value: number): string {
  const unit = unitOf(model, figures);
  const [low, high] = [figures.min ?? 0, figures.max ?? 0].map((end) => inUnit(end, figures.unit, unit));
  const digits = Math.min(3, Math.max(low === high ? 1 : 0, digitsFor({ low: low!, high: high! })));
  return inUnit(value, figures.unit, unit).toLocaleString(t.locale, {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
  });
}

export const quantityOf = (model: RecordingModel, figures: SignalFigures, value: number): string =>
  `${numberText(model, figures, value)} ${unitLabel(unitOf(model, figures))}`;

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
