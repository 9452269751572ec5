import type { Confidence, RankedVehicle } from '@tallybay/contracts';
import { signalRow } from '@tallybay/decode';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';

/** How far the rank is to be trusted; nothing for rankings that were made before it was kept. */
export const ConfidenceLine = ({ confidence }: { confidence: Confidence | undefined }) =>
  confidence ? <p class="quiet">{confidence.why}</p> : null;

interface WearInputs {
  ageing?: Record<string, { lifeShare: number | null }>;
  cycles?: Record<string, { week: { cycles: number; largestK: number; drives: number } }>;
}

/** What the week took out of fluids and parts: informs, and does not enter the score. */
export function Wear({ row }: { row: RankedVehicle }) {
  const { ageing = {}, cycles = {} } = row.inputs as WearInputs;
  const signals = Object.entries(cycles);
  if (signals.length === 0) return null;
  return (
    <section>
      <h3>{t.rankingRules.wear}</h3>
      <ul class="reasons">
        {signals.map(([id, { week }]) => (
          <li key={id}>
            <strong>{signalRow(id).label}:</strong> {cyclesText(week)}
            {lifeText(ageing[id]?.lifeShare)}
          </li>
        ))}
      </ul>
    </section>
  );
}

const cyclesText = ({ cycles, largestK, drives }: { cycles: number; largestK: number; drives: number }): string =>
  cycles === 0 ? t.rankingRules.noCycles : t.rankingRules.cycles(cycles, quantityText(largestK, 'K-interval'), drives);

const lifeText = (share: number | null | undefined): string =>
  typeof share === 'number' ? `; ${t.rankingRules.lifeUsed(`${(share * 100).toFixed(2)} %`)}` : '';
