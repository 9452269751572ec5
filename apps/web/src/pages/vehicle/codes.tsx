import type { VehicleCodes } from '@tallybay/contracts';
import { query } from '../../app/location.js';
import { Notice } from '../../kit/notice.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { CodeTimeline } from './code-timeline.js';
import { Wide } from './section.js';
import { DepotTime } from './when.js';

type Code = VehicleCodes['codes'][number];

const KINDS: Record<Code['status'], MarkKind> = {
  confirmed: 'bad',
  permanent: 'bad',
  pending: 'caution',
  gone: 'good',
  cleared: 'unknown',
};

/** Codes over time with clears and returns; never read is not the same as none. */
export function Codes({ data, timeZone }: { data: VehicleCodes; timeZone: string }) {
  const time = new DepotTime(timeZone);
  const words = t.vehicle.codes;
  const newest = data.newestSnapshot ? time.date(data.newestSnapshot) : null;
  if (data.snapshots === 0)
    return (
      <Notice kind="caution" title={words.never}>
        <p>{words.neverAdvice}</p>
      </Notice>
    );
  if (data.codes.length === 0)
    return (
      <Notice kind="info" title={words.none}>
        <p>{words.noneOf(data.snapshots, newest ?? '')}</p>
      </Notice>
    );
  return (
    <>
      {data.patterns.map((pattern) => (
        <Notice key={`${pattern.kind}${pattern.code}`} kind="caution" title={pattern.text} />
      ))}
      <CodeTimeline data={data} time={time} />
      <Wide label={words.timeline}>
        <table class="facts tight stacked-rows">
          <caption class="only-read">{words.timeline}</caption>
          <thead>
            <tr>
              <th scope="col">{words.code}</th>
              <th scope="col">{words.state}</th>
              <th scope="col">{words.first}</th>
              <th scope="col">{words.last}</th>
              <th scope="col">{words.returns}</th>
            </tr>
          </thead>
          <tbody>
            {data.codes.map((code) => (
              <CodeRow key={`${code.code}${code.module}`} code={code} time={time} />
            ))}
          </tbody>
        </table>
      </Wide>
      <Clears data={data} time={time} />
      {newest && <p class="quiet">{words.newest(newest)}</p>}
    </>
  );
}

function CodeRow({ code, time }: { code: Code; time: DepotTime }) {
  const words = t.vehicle.codes;
  const asked = query.value.get('code') === code.code;
  return (
    <tr class={asked ? 'asked' : undefined} aria-current={asked ? 'true' : undefined}>
      <th scope="row">
        <strong>{code.code}</strong> {code.text}
        {code.module && <span class="second">{words.module(code.module)}</span>}
      </th>
      <td data-label={words.state}>
        <Mark kind={KINDS[code.status]} text={words.standing[code.status]} />
      </td>
      <td class="nowrap" data-label={words.first}>
        {time.date(code.firstSeen)}
      </td>
      <td class="nowrap" data-label={words.last}>
        {time.date(code.lastSeen)}
      </td>
      <td data-label={words.returns}>
        {code.returns.length === 0
          ? words.noReturns
          : code.returns.map((back) => (
              <span key={back.at} class="block">
                {words.returnText(
                  time.date(back.at),
                  back.after,
                  back.days,
                  back.km === null ? null : quantityText(back.km, 'km'),
                )}
                {back.repair && (
                  <strong class="second">{words.afterRepair(time.date(back.repair.at), back.repair.label)}</strong>
                )}
              </span>
            ))}
      </td>
    </tr>
  );
}

function Clears({ data, time }: { data: VehicleCodes; time: DepotTime }) {
  if (data.clears.length === 0) return null;
  return (
    <>
      <h3>{t.vehicle.codes.clears}</h3>
      <ul class="plain-list">
        {data.clears.map((clear) => (
          <li key={clear.at}>
            {t.vehicle.codes.clearText(time.date(clear.since), time.date(clear.at), clear.codes, clear.cameBack)}
          </li>
        ))}
      </ul>
    </>
  );
}
