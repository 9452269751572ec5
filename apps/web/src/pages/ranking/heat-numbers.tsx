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
          <caption class="only-read">{t.ranking.temperatures}</caption>
          <thead>
            <tr>
              <th scope="col">{t.ranking.stageReached}</th>
              <th scope="col" class="end">
                {t.ranking.from}
              </th>
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
  return (
    <>
      <tr>
        <th colSpan={3} scope="colgroup">
          <strong>{signalRow(id).label}</strong>:{' '}
          {signal.state === 'ok' ? t.ranking.highest(quantityText(signal.maxC, 'degC')) : t.ranking.notBelieved}
          {signal.state === 'ok' && reached.length === 0 && `, ${t.ranking.belowStages}`}
        </th>
      </tr>
      {reached.map((stage) => (
        <tr key={stage.stage}>
          <td>
            <StageBadge stage={stage.stage} />
          </td>
          <td class="end">{quantityText(stage.atOrAboveC, 'degC')}</td>
          <td class="end">{minutesText(stage.seconds)}</td>
        </tr>
      ))}
    </>
  );
}

const minutesText = (seconds: number): string => {
  const minutes = seconds / SECONDS_A_MINUTE;
  return minutes.toFixed(minutes < 10 ? 1 : 0);
};
