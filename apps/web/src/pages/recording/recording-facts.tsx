import { t } from '../../text/text.js';
import type { Desk } from './desk.js';
import { lengthOf } from './time-span.js';

/** What the log is, in a line; how it was read and what was left out, on request. */
export function RecordingFacts({ desk }: { desk: Desk }) {
  const { recording, model, zone } = desk;
  const words = t.recording.facts;
  const rows = recording.counts?.rowsKept ?? 0;
  return (
    <div class="recording-facts">
      <p class="quiet">
        {zone.full(model.whole.fromMs, 1000)} – {endText(desk)} ({t.recording.duration(lengthOf(model.whole))}
        ), {t.count.rows(rows)}, {words.gaps(recording.gaps, t.recording.duration(recording.longestGapSeconds * 1000))}
      </p>
      <details>
        <summary>{words.more}</summary>
        <dl class="facts-list">
          <div>
            <dt>{words.file}</dt>
            <dd>{recording.fileName ?? words.unnamed}</dd>
          </div>
          <div>
            <dt>{words.recorder}</dt>
            <dd>{recording.recorder ?? words.unnamed}</dd>
          </div>
          <div>
            <dt>{words.leftOut}</dt>
            <dd>
              {words.leftOutText(recording.counts?.rowsRejected ?? 0, leftOutValues(desk), recording.backwardSteps)}
            </dd>
          </div>
          {recording.decisions.map(({ what, value, why }) => (
            <div key={what + value}>
              <dt>{what.replaceAll('_', ' ')}</dt>
              <dd>
                {value} ({why})
              </dd>
            </div>
          ))}
        </dl>
      </details>
    </div>
  );
}

/** The day is said again only where it is another one. */
function endText({ model: { whole }, zone }: Desk): string {
  const sameDay = zone.date(whole.fromMs) === zone.date(whole.toMs);
  return sameDay ? zone.clock(whole.toMs, 1000) : zone.full(whole.toMs, 1000);
}

const leftOutValues = ({ recording }: Desk): number =>
  recording.signals.reduce((sum, { leftOut, aside }) => sum + (aside ? 0 : leftOut), 0);
