import type { RankedVehicle } from '@tallybay/contracts';
import { vehicleHref } from '../../app/places.js';
import { EvidenceLinks } from '../../kit/evidence-links.js';
import { Caution } from '../../kit/notice.js';
import { Tally } from '../../kit/tally.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { ConfidenceLine, Wear } from './confidence-line.js';
import { HeatNumbers } from './heat-numbers.js';
import { COMPONENTS, firstTwo, reasonsOf, weightsOf } from './ranking-rows.js';

/** Why one vehicle stands where it does: two sentences, then the numbers behind them. */
export function WhyPanel({ row, of, caution }: { row: RankedVehicle; of: number; caution: string }) {
  const reasons = reasonsOf(row);
  return (
    <div class="why stack">
      <p class="why-sentences">
        {reasons.length === 0
          ? t.ranking.nothingStands
          : firstTwo(reasons)
              .map(({ text }) => sentenceInUnits(text))
              .join(' ')}
      </p>
      <p>
        {t.ranking.rankOf(row.rank, of)}.{' '}
        <a class="vehicle-link" href={vehicleHref(row.vehicle)}>
          {t.ranking.toVehicle(row.vehicle)}
        </a>
      </p>
      <ConfidenceLine confidence={row.confidence} />
      <Components row={row} />
      <HeatNumbers inputs={row.inputs} />
      <Wear row={row} />
      {reasons.length > 0 && <Evidence reasons={reasons} vehicle={row.vehicle} />}
      <Caution text={caution} />
    </div>
  );
}

function Components({ row }: { row: RankedVehicle }) {
  const weights = weightsOf(row);
  return (
    <table class="facts">
      <caption class="only-read">{t.ranking.componentsOf(row.vehicle)}</caption>
      <thead>
        <tr>
          <th scope="col">{t.ranking.component}</th>
          <th scope="col">{t.ranking.columns.score}</th>
          <th scope="col" class="end">
            {t.ranking.weight}
          </th>
        </tr>
      </thead>
      <tbody>
        {COMPONENTS.map((name) => (
          <tr key={name}>
            <th scope="row">
              {t.components[name]}
              {row[name].note && <small class="quiet block">{sentenceInUnits(row[name].note)}</small>}
            </th>
            <td>
              <Tally score={row[name].score} missing={t.ranking.componentStates[row[name].state]} />
            </td>
            <td class="end">{weights[name]}</td>
          </tr>
        ))}
        <tr>
          <th scope="row">
            <strong>{t.ranking.together}</strong>
            <small class="quiet block">{t.ranking.formula}</small>
          </th>
          <td>
            <Tally score={row.score} />
          </td>
          <td />
        </tr>
      </tbody>
    </table>
  );
}

function Evidence({ reasons, vehicle }: { reasons: RankedVehicle['reasons']; vehicle: string }) {
  return (
    <section>
      <h3>{t.ranking.allReasons}</h3>
      <ul class="reasons">
        {reasons.map((reason) => (
          <li key={reason.text}>
            <strong>{t.components[reason.component]}:</strong> {sentenceInUnits(reason.text)}
            <EvidenceLinks evidence={reason.evidence} vehicle={vehicle} />
          </li>
        ))}
      </ul>
    </section>
  );
}
