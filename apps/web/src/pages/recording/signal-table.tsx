import type { Recording, SignalFigures } from '@tallybay/contracts';
import { t } from '../../text/text.js';
import type { Desk } from './desk.js';
import { ExtremeButton, unitOf, unitText, ValueNow } from './signal-values.js';

/** Every recorded signal: drawn or not, its value at the cursor, its lowest and highest with when. */
export function SignalTable({ desk }: { desk: Desk }) {
  const words = t.recording.table;
  const { signals } = desk.recording;
  return (
    <section class="card all-signals" aria-labelledby="signals-title">
      <h2 id="signals-title">{words.title(signals.length)}</h2>
      <div class="scroll-x">
        <table class="facts">
          <caption class="only-read">{words.caption}</caption>
          <thead>
            <tr>
              <th scope="col">{words.signal}</th>
              <th scope="col" class="end">
                {words.now}
              </th>
              <th scope="col">{words.unit}</th>
              <th scope="col" class="end">
                {words.min}
              </th>
              <th scope="col" class="end">
                {words.max}
              </th>
            </tr>
          </thead>
          <tbody>
            {signals.map((figures) => (
              <Row key={figures.signal} desk={desk} figures={figures} />
            ))}
          </tbody>
        </table>
      </div>
      <Texts texts={desk.recording.texts} />
    </section>
  );
}

/** Channels of words: said to be there, so that nobody looks for their plots in vain. */
function Texts({ texts }: { texts: Recording['texts'] }) {
  const words = t.recording.texts;
  if (texts.length === 0) return null;
  return (
    <details class="word-channels">
      <summary>{words.title(texts.length)}</summary>
      <p class="quiet">{words.why}</p>
      <ul>
        {texts.map(({ channel, cells, example }) => (
          <li key={channel}>
            <strong>{channel}</strong> <span class="quiet">{words.of(cells, example ?? '')}</span>
          </li>
        ))}
      </ul>
    </details>
  );
}

function Row({ desk, figures }: { desk: Desk; figures: SignalFigures }) {
  const { model, zone } = desk;
  const shown = model.shown.value.includes(figures.signal);
  const when = (at: string | null) => at && <span class="second number">{zone.clock(Date.parse(at), 1000)}</span>;
  return (
    <tr>
      <th scope="row">
        <label class="check">
          <input type="checkbox" checked={shown} onChange={() => model.toggle(figures.signal)} />
          <span>
            {figures.label}
            <span class="second">{figures.aside ? t.recording.aside : t.recording.channelOf(figures.channel)}</span>
          </span>
        </label>
      </th>
      <td class="end">
        <ValueNow model={model} figures={figures} />
      </td>
      <td>{unitText(unitOf(model, figures))}</td>
      <td class="end">
        <ExtremeButton desk={desk} figures={figures} end="min" />
        {when(figures.minAt)}
      </td>
      <td class="end">
        <ExtremeButton desk={desk} figures={figures} end="max" />
        {when(figures.maxAt)}
      </td>
    </tr>
  );
}
