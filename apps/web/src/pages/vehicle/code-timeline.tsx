import type { VehicleCodes } from '@tallybay/contracts';
import { t } from '../../text/text.js';
import type { DepotTime } from './when.js';

type Code = VehicleCodes['codes'][number];

const MS_PER_DAY = 86_400_000;
/** A reading is a moment: a bar of one reading still has to be seen. */
const LEAST_PERCENT = 1.2;
const TICKS = 4;
const KINDS = ['permanent', 'active', 'pending'] as const;

interface TimelineProps {
  data: VehicleCodes;
  time: DepotTime;
}

/** Bars over time, one lane a status; the table below says the same in words, so the drawing is only for the eye. */
export function CodeTimeline({ data, time }: TimelineProps) {
  const from = Date.parse(data.firstSnapshot ?? data.asOf) - MS_PER_DAY;
  const to = Date.parse(data.newestSnapshot ?? data.asOf) + MS_PER_DAY;
  const at = (instant: string | number) =>
    ((Number(typeof instant === 'string' ? Date.parse(instant) : instant) - from) / (to - from)) * 100;
  const ticks = Array.from({ length: TICKS }, (_tick, index) => from + ((to - from) * (index + 0.5)) / TICKS);
  return (
    <figure class="timeline" aria-hidden="true">
      {data.codes.map((code) => (
        <div key={`${code.code}${code.module}`} class="timeline-row">
          <span class="timeline-name">{code.code}</span>
          <Lanes code={code} clears={data.clears} at={at} time={time} />
        </div>
      ))}
      <div class="timeline-row">
        <span class="timeline-name" />
        <div class="timeline-axis">
          {ticks.map((tick) => (
            <span key={tick} style={{ insetInlineStart: `${at(tick)}%` }}>
              {time.date(new Date(tick).toISOString())}
            </span>
          ))}
        </div>
      </div>
      <figcaption class="plot-key">
        {KINDS.map((kind) => (
          <span key={kind}>
            <span class={`key-bar bar-${kind}`} /> {t.vehicle.codes.kinds[kind]}
          </span>
        ))}
        <span>
          <span class="sign-clear">✕</span> {t.vehicle.codes.legend.clear}
        </span>
        <span>
          <span class="sign-back">↩</span> {t.vehicle.codes.legend.back}
        </span>
        <span>▸ {t.vehicle.codes.legend.reading}</span>
      </figcaption>
    </figure>
  );
}

interface LanesProps {
  code: Code;
  clears: VehicleCodes['clears'];
  at: (instant: string) => number;
  time: DepotTime;
}

function Lanes({ code, clears, at, time }: LanesProps) {
  const words = t.vehicle.codes;
  return (
    <div class="timeline-lanes">
      {KINDS.map((kind) => (
        <div key={kind} class="timeline-lane">
          {code.spans
            .filter(({ state }) => state === kind)
            .map((span) => {
              const start = at(span.start);
              const width = Math.max(LEAST_PERCENT, at(span.end ?? span.last) - start);
              const end = span.end === null ? null : time.date(span.end);
              return (
                <span
                  key={span.start}
                  class={`bar bar-${kind}${span.end === null ? ' bar-open' : ''}`}
                  style={{ insetInlineStart: `${start}%`, width: `${width}%` }}
                  title={words.barText(words.kinds[kind], time.date(span.start), end, span.endedBy)}
                />
              );
            })}
        </div>
      ))}
      {clears
        .filter(({ codes }) => codes.includes(code.code))
        .map((clear) => (
          <span key={clear.at} class="sign sign-clear" style={{ insetInlineStart: `${at(clear.at)}%` }}>
            ✕
          </span>
        ))}
      {code.returns.map((back) => (
        <span key={back.at} class="sign sign-back" style={{ insetInlineStart: `${at(back.at)}%` }}>
          ↩
        </span>
      ))}
    </div>
  );
}
