import type { FleetCodes } from '@tallybay/contracts';
import { useEffect, useRef } from 'preact/hooks';
import { setQuery } from '../../app/location.js';
import { vehicleHref } from '../../app/places.js';
import { depotName } from '../../data/depot-names.js';
import { Notice } from '../../kit/notice.js';
import { ScrollBox } from '../../kit/scroll-box.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { dayText } from './day-text.js';

type Where = FleetCodes['codes'][number]['where'][number];

/** A code that has gone is not proof of a repair: it gets no sign of approval. */
const KINDS: Record<Where['status'], MarkKind> = {
  confirmed: 'bad',
  permanent: 'bad',
  pending: 'caution',
  gone: 'unknown',
  cleared: 'unknown',
};

/** One code: the vehicles that have or had it, and how it came back. Takes the focus when it opens. */
export function CodeDetail({ code, data }: { code: string; data: FleetCodes }) {
  const words = t.codes.detail;
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus({ preventScroll: true }), []);
  const row = data.codes.find((item) => item.code === code);
  return (
    <section class="code-detail" aria-labelledby="code-title">
      <div class="code-head">
        <h2 id="code-title" ref={heading} tabIndex={-1}>
          {words.title(code)}
        </h2>
        <button type="button" onClick={() => setQuery({ code: null })}>
          {words.close}
        </button>
      </div>
      {row ? (
        <>
          <p class="quiet">{row.text}</p>
          <ScrollBox label={words.title(code)}>
            <WhereTable code={code} rows={row.where} />
          </ScrollBox>
        </>
      ) : (
        <Notice kind="info" title={words.notThere(code)}>
          <p>{words.notThereAdvice}</p>
        </Notice>
      )}
    </section>
  );
}

function WhereTable({ code, rows }: { code: string; rows: readonly Where[] }) {
  const words = t.codes.detail;
  return (
    <table class="facts">
      <thead>
        <tr>
          <th scope="col">{words.vehicle}</th>
          <th scope="col">{words.state}</th>
          <th scope="col">{words.lastReturn}</th>
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <tr key={`${row.vehicle} ${row.module}`}>
            <th scope="row">
              <a href={vehicleHref(row.vehicle, { code })}>{row.vehicle}</a>
              <span class="second">
                {row.vehicleClass.replaceAll('_', ' ')}, {depotName(row.depot)}
              </span>
              {row.module && <span class="second">{words.module(row.module)}</span>}
            </th>
            <td>
              <Mark kind={KINDS[row.status]} text={t.codes.standing[row.status]} />
              <span class="second">{words.seen(dayText(row.firstSeen), dayText(row.lastSeen))}</span>
              {row.cleared > 0 && <span class="second">{words.cleared(row.cleared, row.cameBack)}</span>}
            </td>
            <td>
              <ReturnText row={row} />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function ReturnText({ row: { lastReturn, returnsIn } }: { row: Where }) {
  const words = t.codes.detail;
  if (!lastReturn) return <span class="quiet">{words.never}</span>;
  const { at, after, days, km, warmUps, repair } = lastReturn;
  const use = [
    ...(km === null ? [] : [words.km(quantityText(km, 'km'))]),
    ...(warmUps === null ? [] : [words.warmUps(warmUps)]),
  ];
  return (
    <>
      {words.returned(dayText(at), after, days)}
      {use.length > 0 && <span class="second">{use.join(', ')}</span>}
      {repair && <strong class="second">{words.afterRepair(dayText(repair.at), repair.label)}</strong>}
      <span class="second">{words.returns(returnsIn.d365)}</span>
    </>
  );
}
