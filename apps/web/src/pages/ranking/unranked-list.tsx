import type { UnrankedVehicle } from '@tallybay/contracts';
import { vehicleHref } from '../../app/places.js';
import { depotName } from '../../data/depot-names.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';

/** Missing is not healthy: whoever has no rank is listed with the cause and what would give it one. */
export function UnrankedList({ rows }: { rows: readonly UnrankedVehicle[] }) {
  if (rows.length === 0) return null;
  return (
    <section class="unranked">
      <h2>{t.ranking.unrankedTitle(rows.length)}</h2>
      <p class="quiet">{t.ranking.unrankedWhy}</p>
      <ul>
        {rows.map((row) => (
          <li key={row.vehicle}>
            <a href={vehicleHref(row.vehicle)}>{row.vehicle}</a>
            <span class="quiet">
              {[row.vehicleClass.replaceAll('_', ' '), depotName(row.depot), row.route].filter(Boolean).join(', ')}
            </span>
            {row.causes.map((cause) => (
              <p key={cause.code}>
                {sentenceInUnits(cause.text)} <em>{t.ranking.causeAdvice[cause.code]}</em>
              </p>
            ))}
          </li>
        ))}
      </ul>
    </section>
  );
}
