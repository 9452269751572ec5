import type { VehicleResiduals } from '@tallybay/contracts';
import { query } from '../../app/location.js';
import { recordingHref } from '../../app/places.js';
import { Notice } from '../../kit/notice.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { withContext } from './context.js';
import { kelvinText } from './kelvin.js';
import { ResidualPlot } from './residual-plot.js';
import { Wide } from './section.js';
import { around, DepotTime } from './when.js';

type Signal = VehicleResiduals['signals'][number];

/** What the early warning goes by, for the temperature that is looked at above, else the one nearest to a warning. */
interface WarningProps {
  data: VehicleResiduals;
  timeZone: string;
  /** The temperature that the page shows unless the reader chooses another. */
  worst: string | null;
}

export function Warning({ data, timeZone, worst }: WarningProps) {
  const asked = query.value.get('signal') ?? worst;
  const judged = data.signals.filter(({ drives }) => drives.length > 0);
  const nearest = judged.toSorted((a, b) => nearness(b) - nearness(a))[0];
  const signal = judged.find((one) => one.signal === asked) ?? nearest;
  return (
    <>
      <ul class="plain-list">
        {data.signals.map((one) => (
          <li key={one.signal}>{sentenceOf(one)}</li>
        ))}
      </ul>
      {signal ? (
        <>
          <ResidualPlot signal={signal} recentFrom={data.recentFrom} />
          <Figures signal={signal} timeZone={timeZone} />
        </>
      ) : (
        <Notice kind="info" title={t.vehicle.warning.none} />
      )}
      <p class="quiet">{t.vehicle.warning.compared(data.compared, data.vehicleClass.replaceAll('_', ' '))}</p>
    </>
  );
}

const nearness = ({ excessK, thresholdK }: Signal): number =>
  excessK === null || thresholdK === null ? -Infinity : excessK / thresholdK;

function sentenceOf({ label, state, excessK, thresholdK, warns }: Signal) {
  const words = t.vehicle.warning;
  if (state !== 'ok') return words.unknown(label, words.states[state]);
  if (excessK === null || thresholdK === null) return words.tooFew(label);
  if (!warns) return words.quiet(label, kelvinText(excessK, true), kelvinText(thresholdK));
  return <strong>! {words.warns(label, kelvinText(excessK), kelvinText(thresholdK))}</strong>;
}

function Figures({ signal, timeZone }: { signal: Signal; timeZone: string }) {
  const time = new DepotTime(timeZone);
  const words = t.vehicle.warning;
  return (
    <details>
      <summary>{t.vehicle.figures}</summary>
      <Wide label={words.plot(signal.label)}>
        <table class="facts tight">
          <caption class="only-read">{words.plot(signal.label)}</caption>
          <thead>
            <tr>
              <th scope="col">{words.drive}</th>
              <th scope="col" class="end">
                {words.highest}
              </th>
              <th scope="col" class="end">
                {words.explained}
              </th>
              <th scope="col" class="end">
                {words.difference}
              </th>
            </tr>
          </thead>
          <tbody>
            {signal.drives.toReversed().map((drive) => (
              <tr key={drive.from}>
                <td class="nowrap">
                  <a
                    href={recordingHref(drive.upload, {
                      ...around(drive.from, drive.to, 0),
                      signals: withContext(signal.signal),
                    })}
                  >
                    {time.full(drive.from)}
                  </a>
                </td>
                <td class="end">{quantityText(drive.heldC, 'degC')}</td>
                <td class="end">{quantityText(drive.explainedC, 'degC')}</td>
                <td class="end">{kelvinText(drive.residualK, true)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </details>
  );
}
