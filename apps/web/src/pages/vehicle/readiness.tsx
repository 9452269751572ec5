import type { VehicleReadiness } from '@tallybay/contracts';
import { Caution, Notice } from '../../kit/notice.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { t } from '../../text/text.js';
import { Wide } from './section.js';
import { DepotTime, dayText } from './when.js';

type Verdict = VehicleReadiness['verdicts'][number];

const KINDS: Record<Verdict['verdict'], MarkKind> = {
  would_pass: 'good',
  would_be_refused: 'caution',
  would_fail: 'bad',
  not_enough_data: 'unknown',
  not_subject: 'unknown',
};

/** What an inspection would make of the newest readings, which monitors hold it back, and how likely they complete. */
export function Readiness({ data, timeZone }: { data: VehicleReadiness; timeZone: string }) {
  const time = new DepotTime(timeZone);
  const words = t.vehicle.readiness;
  const labelOf = new Map(data.monitors.map(({ monitor, label }) => [monitor, label]));
  return (
    <>
      <Caution text={data.caution} />
      {data.newestSnapshot === null && (
        <Notice kind="caution" title={words.never}>
          <p>{words.neverAdvice}</p>
        </Notice>
      )}
      {data.stale && data.newestSnapshot !== null && <Notice kind="caution" title={words.stale} />}
      {data.hiddenClear && (
        <Notice kind="caution" title={words.hidden}>
          <p>{data.hiddenClear.text}</p>
        </Notice>
      )}
      <p>
        {data.inspectionDue && data.dueInDays !== null
          ? words.due(dayText(data.inspectionDue), t.readiness.dueIn(data.dueInDays))
          : words.noDue}{' '}
        {data.newestSnapshot && <span class="quiet">{words.newest(time.date(data.newestSnapshot))}</span>}
      </p>
      <Wide label={t.vehicle.sections.readiness}>
        <table class="facts tight stacked-rows">
          <caption class="only-read">{t.vehicle.sections.readiness}</caption>
          <thead>
            <tr>
              <th scope="col">{words.programme}</th>
              <th scope="col">{words.verdict}</th>
              <th scope="col">{words.why}</th>
              <th scope="col">{words.byDate}</th>
            </tr>
          </thead>
          <tbody>
            {data.verdicts.map((row) => (
              <tr key={row.programme}>
                <th scope="row">{row.label}</th>
                <td class="nowrap" data-label={words.verdict}>
                  <Mark kind={KINDS[row.verdict]} text={t.readiness.verdicts[row.verdict]} />
                </td>
                <td data-label={words.why}>
                  {row.why.join(' ')}
                  {row.blocking.length > 0 && (
                    <span class="second">{words.blocking(row.blocking.map((id) => labelOf.get(id) ?? id))}</span>
                  )}
                </td>
                <td data-label={words.byDate}>
                  {row.readyByDate ? (
                    words.chance(row.readyByDate.chance, row.readyByDate.low, row.readyByDate.high)
                  ) : (
                    <span class="missing">{t.states.noValue}</span>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <Forecast data={data} />
      {data.advice.length > 0 && (
        <>
          <h3>{words.next}</h3>
          <ul class="plain-list">
            {data.advice.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}

const OUTLOOKS: Record<'likely' | 'uncertain' | 'unlikely' | 'too_little_history', MarkKind> = {
  likely: 'good',
  uncertain: 'caution',
  unlikely: 'bad',
  too_little_history: 'unknown',
};

function Forecast({ data }: { data: VehicleReadiness }) {
  const words = t.vehicle.readiness;
  const { forecast } = data;
  if (!forecast) return null;
  if (forecast.monitors.length === 0) return <p>{words.monitorsDone}</p>;
  return (
    <>
      <h3>{words.monitors}</h3>
      <Wide label={words.monitors}>
        <table class="facts tight stacked-rows">
          <caption class="only-read">{words.monitors}</caption>
          <thead>
            <tr>
              <th scope="col">{words.monitor}</th>
              <th scope="col">{words.outlook(dayText(forecast.date))}</th>
              <th scope="col">{words.driving}</th>
            </tr>
          </thead>
          <tbody>
            {forecast.monitors.map((row) => (
              <tr key={row.monitor}>
                <th scope="row">{row.label}</th>
                <td data-label={words.outlook(dayText(forecast.date))}>
                  <Mark kind={OUTLOOKS[row.outlook]} text={words.outlooks[row.outlook]} />
                  {row.chance !== null && row.low !== null && row.high !== null && (
                    <span class="second">{words.chance(row.chance, row.low, row.high)}</span>
                  )}
                </td>
                <td data-label={words.driving}>{row.driving}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <details>
        <summary>{words.method}</summary>
        <p>{forecast.method}</p>
      </details>
    </>
  );
}
