import type { VehicleExtremes } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { recordingHref } from '../../app/places.js';
import { TextInput } from '../../kit/field.js';
import { Notice } from '../../kit/notice.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { contextText, withContext } from './context.js';
import { ResetDialog } from './reset-dialog.js';
import { useSome, Wide } from './section.js';
import { around, DepotTime } from './when.js';

const FEW = 10;

type Row = VehicleExtremes['signals'][number];

interface ExtremesProps {
  data: VehicleExtremes;
  timeZone: string;
  onReset: () => void;
}

/** Lowest and highest of each signal since somebody set it back; what was before stays in the history. */
export function Extremes({ data, timeZone, onReset }: ExtremesProps) {
  const [find, setFind] = useState('');
  const [resetting, setResetting] = useState(false);
  const [done, setDone] = useState(false);
  const time = new DepotTime(timeZone);
  const words = t.vehicle.extremes;
  const rows = data.signals.filter(({ label }) => label.toLowerCase().includes(find.trim().toLowerCase()));
  const { shown, more } = useSome(rows, FEW);
  return (
    <>
      <div class="row no-print">
        <TextInput label={words.find} type="search" value={find} onInput={setFind} />
        <button type="button" onClick={() => setResetting(true)}>
          {words.reset}
        </button>
      </div>
      {done && <Notice kind="good" title={words.done} live />}
      <Wide label={t.vehicle.sections.extremes}>
        <table class="facts tight">
          <caption>{words.shown(rows.length, data.signals.length)}</caption>
          <thead>
            <tr>
              <th scope="col">{words.signal}</th>
              <th scope="col" class="end">
                {words.lowest}
              </th>
              <th scope="col" class="end">
                {words.highest}
              </th>
              <th scope="col">{words.since}</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((row) => (
              <tr key={row.signal}>
                <th scope="row">{row.label}</th>
                <Extreme row={row} of="lowest" time={time} />
                <Extreme row={row} of="highest" time={time} />
                <td>
                  {row.since ? time.full(row.since) : words.ever}
                  {row.resetBy && <span class="second">{row.resetBy}</span>}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      {more}
      <History data={data} time={time} />
      {resetting && (
        <ResetDialog
          data={data}
          onClose={(changed) => {
            setResetting(false);
            if (!changed) return;
            setDone(true);
            onReset();
          }}
        />
      )}
    </>
  );
}

/** Small values keep what tells them apart. */
const digitsOf = (value: number): number => (Math.abs(value) < 2 ? 2 : Math.abs(value) < 20 ? 1 : 0);

function Extreme({ row, of, time }: { row: Row; of: 'lowest' | 'highest'; time: DepotTime }) {
  const extreme = row[of];
  if (!extreme)
    return (
      <td class="end">
        <span class="missing">{t.vehicle.extremes.nothing}</span>
      </td>
    );
  return (
    <td class="end" title={contextText(extreme.context)}>
      {quantityText(extreme.value, row.unit === '1' ? '' : row.unit, digitsOf(extreme.value))}
      <span class="second">
        <a
          href={recordingHref(extreme.upload, {
            ...around(extreme.at, extreme.at, 600_000),
            signals: withContext(row.signal),
          })}
        >
          {time.full(extreme.at)}
        </a>
      </span>
    </td>
  );
}

function History({ data, time }: { data: VehicleExtremes; time: DepotTime }) {
  if (data.resets.length === 0) return null;
  const words = t.vehicle.extremes;
  const nameOf = new Map(data.signals.map(({ signal, label }) => [signal, label]));
  return (
    <details>
      <summary>{words.history(data.resets.length)}</summary>
      <ul class="plain-list">
        {data.resets.map((reset) => (
          <li key={reset.at}>
            {words.resetText(
              time.full(reset.at),
              reset.by,
              reset.reason,
              reset.signals?.map((signal) => nameOf.get(signal) ?? signal).join(', ') ?? words.everySignal,
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}
