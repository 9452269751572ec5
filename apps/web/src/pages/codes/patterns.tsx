import type { FleetCodes } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { vehicleHref } from '../../app/places.js';
import { depotName } from '../../data/depot-names.js';
import { t } from '../../text/text.js';
import { dayText } from './day-text.js';

const FEW = 8;

/** Codes that were cleared again and again, or shortly before an inspection. */
export function Patterns({ data }: { data: FleetCodes }) {
  const words = t.codes.patterns;
  const [all, setAll] = useState(false);
  const shown = all ? data.patterns : data.patterns.slice(0, FEW);
  return (
    <section aria-labelledby="patterns-title">
      <h2 id="patterns-title">{words.title}</h2>
      {data.patterns.length === 0 ? (
        <p>{words.none}</p>
      ) : (
        <>
          <p class="quiet">{words.lead}</p>
          <ul class="pattern-list">
            {shown.map((pattern) => (
              <li key={`${pattern.vehicle} ${pattern.kind} ${pattern.code} ${pattern.module}`}>
                <a href={vehicleHref(pattern.vehicle, { code: pattern.code })}>{pattern.vehicle}</a>{' '}
                <span class="quiet">({depotName(pattern.depot)})</span> {pattern.text}
                <span class="second">{words.on(pattern.at.map(dayText))}</span>
              </li>
            ))}
          </ul>
          {data.patterns.length > FEW && (
            <button type="button" aria-expanded={all} onClick={() => setAll(!all)}>
              {all ? words.fewer : words.more(data.patterns.length)}
            </button>
          )}
        </>
      )}
    </section>
  );
}
