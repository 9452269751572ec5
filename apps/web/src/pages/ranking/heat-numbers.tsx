import { signalRow } from '@tallybay/decode';
import { StageBadge, type StageName } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';

interface HeatSignal {
  state: string;
  maxC: number | null;
  stages: {
    stage: StageName;
    atOrAboveC: number;
    seconds: number;
    degreeMinutes: number;
    minutesPerEngineHour: number;
  }[];
}

const SECONDS_A_MINUTE = 60;

/** The temperatures behind the heat score, stage by stage; nothing where the ranking kept none. */
export function HeatNumbers({ inputs }: { inputs: Record<string, unknown> }) {
  const heat = inputs.heat as { signals?: Record<string, HeatSignal> } | null | undefined;
  const signals = Object.entries(heat?.signals ?? {}).filter(([, { maxC }]) => maxC !== null);
  if (signals.length === 0) return null;
  return (
    <section>
      <h3>{t.ranking.temperatures}</h3>
      <div class="scroll-x">
        <table class="facts">
          <thead>
            <tr>
              <th scope="col">{t.ranking.signal}</th>
              <th scope="col" class="end">
                {t.ranking.highest}
              </th>
              <th scope="col">{t.ranking.stageReached}</th>
              <th scope="col" class="end">
                {t.ranking.minutes}
              </th>
            </tr>
          </thead>
          <tbody>
            {signals.map(([id, signal]) => (
              <SignalRows key={id} id={id} signal={signal} />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function SignalRows({ id, signal }: { id: string; signal: HeatSignal }) {
  const reached = signal.stages.filter((stage) => stage.seconds > 0).toReversed();
  const rows = reached.length > 0 ? reached : [null];
  return (
    <>
      {rows.map((stage, index) => (
        <tr key={stage?.stage ?? 'none'}>
          {index === 0 && (
            <>
              <th scope="rowgroup" rowSpan={rows.length}>
                {signalRow(id).label}
              </th>
              <td class="end" rowSpan={rows.length}>
                {signal.state === 'ok' ? quantityText(signal.maxC, 'degC') : t.ranking.notBelieved}
              </td>
            </>
          )}
          <td>
            {stage ? (
              <>
                <StageBadge stage={stage.stage} /> <span class="quiet">≥ {quantityText(stage.atOrAboveC, 'degC')}</span>
              </>
            ) : (
              <span class="quiet">{t.ranking.belowStages}</span>
            )}
          </td>
          <td class="end">{stage ? minutesText(stage.seconds) : ''}</td>
        </tr>
      ))}
    </>
  );
}

const minutesText = (seconds: number): string => {
  const minutes = seconds / SECONDS_A_MINUTE;
  return minutes.toFixed(minutes < 10 ? 1 : 0);
};
