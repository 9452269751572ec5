import { type ChannelPlan, SIGNALS, signalRow, UNITS, unitFits } from '@tallybay/decode';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { quantityText, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { correct, type Item } from './items.js';
import type { Preview } from './preview.js';

type LogPreview = Extract<Preview, { kind: 'log' }>;

const SIGNAL_OPTIONS = SIGNALS.toSorted((left, right) => left.label.localeCompare(right.label));
const LIKELY = 0.6;
const SURE = 0.9;

/** Every channel of the log with the signal and unit it is read as; both can be corrected. */
export const MappingTable = ({ item, preview }: { item: Item; preview: LogPreview }) => (
  <div class="scroll-x">
    <table class="facts mapping">
      <thead>
        <tr>
          <th scope="col">{t.upload.channel}</th>
          <th scope="col">{t.upload.signal}</th>
          <th scope="col">{t.upload.unit}</th>
          <th scope="col">{t.upload.sure}</th>
          <th scope="col" class="end">
            {t.upload.range}
          </th>
        </tr>
      </thead>
      <tbody>
        {preview.channels.map((channel) => (
          <ChannelRow key={channel.header} channel={channel} item={item} preview={preview} />
        ))}
      </tbody>
    </table>
  </div>
);

function ChannelRow({ channel, item, preview }: { channel: ChannelPlan; item: Item; preview: LogPreview }) {
  const { header, role, signal, sourceUnit, why } = channel;
  const fixed = role === 'time' || role === 'marker';
  const set = (wanted: string | null, unit: string | null) =>
    correct(item.id, { ...item.channels, [header]: { signal: wanted, ...(unit ? { unit } : {}) } });
  return (
    <tr>
      <th scope="row" title={why}>
        {header}
      </th>
      <td>
        {fixed ? (
          t.upload.roles[role]
        ) : (
          <select
            class="small"
            aria-label={t.upload.signalOf(header)}
            value={signal ?? ''}
            onChange={({ currentTarget: { value } }) => set(value || null, value ? signalRow(value).unit : null)}
          >
            <option value="">{t.upload.keptAside}</option>
            {SIGNAL_OPTIONS.map((row) => (
              <option key={row.id} value={row.id}>
                {row.label}
              </option>
            ))}
          </select>
        )}
      </td>
      <td>{signal && <UnitSelect {...{ header, signal, sourceUnit }} onChange={(unit) => set(signal, unit)} />}</td>
      <td>{role === 'signal' && <Confidence channel={channel} />}</td>
      <td class="end">{signal && rangeText(preview, signal, header)}</td>
    </tr>
  );
}

interface UnitSelectProps {
  header: string;
  signal: string;
  sourceUnit: string | null;
  onChange: (unit: string) => void;
}

function UnitSelect({ header, signal, sourceUnit, onChange }: UnitSelectProps) {
  const { quantity, unit } = signalRow(signal);
  const choices = UNITS.filter((row) => unitFits(row, quantity));
  const shown = choices.find(({ id, spellings }) => id === sourceUnit || spellings.includes(sourceUnit ?? ''));
  return (
    <select
      class="small"
      aria-label={t.upload.unitOf(header)}
      value={shown?.id ?? unit}
      onChange={(event) => onChange(event.currentTarget.value)}
    >
      {choices.map(({ id }) => (
        <option key={id} value={id}>
          {unitLabel(id)}
        </option>
      ))}
    </select>
  );
}

function Confidence({ channel: { confidence, why } }: { channel: ChannelPlan }) {
  const [kind, word]: [MarkKind, string] =
    confidence >= SURE
      ? ['good', t.upload.confidence.sure]
      : confidence >= LIKELY
        ? ['unknown', t.upload.confidence.likely]
        : ['caution', t.upload.confidence.doubtful];
  return (
    <span title={why}>
      <Mark kind={kind} text={word} /> <span class="quiet">{Math.round(confidence * 100)} %</span>
    </span>
  );
}

/** In the reader's units; two channels may claim one signal, and only the one that is used has figures. */
function rangeText(preview: LogPreview, signal: string, header: string): string {
  const stats = preview.inspection.signals[signal];
  if (!stats || stats.header !== header || stats.min === null) return t.states.noValue;
  const { unit } = signalRow(signal);
  return `${quantityText(stats.min, unit, 1)} … ${quantityText(stats.max, unit, 1)}`;
}
