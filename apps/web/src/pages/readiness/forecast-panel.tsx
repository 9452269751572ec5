import type { FleetReadiness } from '@tallybay/contracts';
import { useEffect, useRef } from 'preact/hooks';
import { setQuery } from '../../app/location.js';
import { vehicleHref } from '../../app/places.js';
import { Notice } from '../../kit/notice.js';
import { ScrollBox } from '../../kit/scroll-box.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { dateText } from './due-table.js';

type Vehicle = FleetReadiness['vehicles'][number];
type Forecast = NonNullable<Vehicle['forecast']>;
type Monitor = Forecast['monitors'][number];

export const OUTLOOK_KINDS: Record<Monitor['outlook'], MarkKind> = {
  likely: 'good',
  uncertain: 'caution',
  unlikely: 'bad',
  too_little_history: 'unknown',
};

/** One vehicle until its inspection: hidden clear, open monitors with their chance and driving, what to do. */
export function ForecastPanel({ id, data }: { id: string; data: FleetReadiness }) {
  const words = t.forecast;
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus({ preventScroll: true }), []);
  const row = data.vehicles.find(({ vehicle }) => vehicle === id);
  return (
    <section class="card forecast-panel" aria-labelledby="forecast-title">
      <div class="forecast-head">
        <h2 id="forecast-title" ref={heading} tabIndex={-1}>
          {row ? words.title(id) : words.notThere(id)}
        </h2>
        <button type="button" onClick={() => setQuery({ vehicle: null })}>
          {words.close}
        </button>
      </div>
      {row && <Body row={row} method={data.forecastMethod} />}
    </section>
  );
}

function Body({ row, method }: { row: Vehicle; method: string }) {
  const words = t.forecast;
  const { hiddenClear, forecast, advice } = row;
  return (
    <>
      {row.stale && <Notice kind="caution" title={words.stale} />}
      {hiddenClear && (
        <Notice kind="caution" title={words.hidden}>
          <p>{hiddenClear.text}</p>
        </Notice>
      )}
      {forecast && forecast.monitors.length > 0 ? <Monitors forecast={forecast} /> : <p>{words.none}</p>}
      {advice.length > 0 && (
        <>
          <h3>{words.next}</h3>
          <ul>
            {advice.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        </>
      )}
      <details>
        <summary>{words.method}</summary>
        <p>{method}</p>
      </details>
      <p>
        <a href={vehicleHref(row.vehicle)}>{row.vehicle}</a>
      </p>
    </>
  );
}

function Monitors({ forecast }: { forecast: Forecast }) {
  const words = t.forecast;
  return (
    <>
      <p>
        {words.until(dateText(forecast.date), forecast.dateFrom === 'inspection_due')}. {useText(forecast)}
      </p>
      <ScrollBox label={words.monitor}>
        <table class="facts">
          <thead>
            <tr>
              <th scope="col">{words.monitor}</th>
              <th scope="col">{words.outlook}</th>
              <th scope="col">{words.driving}</th>
            </tr>
          </thead>
          <tbody>
            {forecast.monitors.map((monitor) => (
              <tr key={monitor.monitor}>
                <th scope="row">{monitor.label}</th>
                <td>
                  <Mark kind={OUTLOOK_KINDS[monitor.outlook]} text={words.outlooks[monitor.outlook]} />{' '}
                  {monitor.chance !== null && words.chance(monitor.chance, monitor.low ?? 0, monitor.high ?? 1)}
                  {monitor.likelyOn && <span class="second">{words.likelyOn(dateText(monitor.likelyOn))}</span>}
                  <span class="second">{words.from(monitor.ownClears, monitor.classClears)}</span>
                  {monitor.overdue && <span class="second">{words.overdue}</span>}
                </td>
                <td>{monitor.driving}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollBox>
    </>
  );
}

function useText({ scale, soFar, usualUntilThen }: Forecast): string {
  const words = t.forecast;
  if (soFar === null || usualUntilThen === null) return words.useUnknown;
  return scale === 'kilometres'
    ? words.use.kilometres(quantityText(soFar, 'km'), quantityText(usualUntilThen, 'km'))
    : words.use[scale](soFar, usualUntilThen);
}
