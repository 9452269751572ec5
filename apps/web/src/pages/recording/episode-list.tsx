import type { EpisodeReport } from '@tallybay/contracts';
import { StageBadge } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { spanOf } from './address-view.js';
import type { Desk } from './desk.js';

/** Every stretch at or above a stage, and every drive, with the way there. */
export function EpisodeList({ desk }: { desk: Desk }) {
  const { episodes, recording } = desk;
  return (
    <section class="card episodes" aria-labelledby="episodes-title">
      <h2 id="episodes-title">{t.recording.episodes.title(episodes.length)}</h2>
      {episodes.length === 0 && <p class="quiet">{t.recording.episodes.none}</p>}
      <ul class="jumps">
        {episodes.map((episode) => (
          <Episode key={`${episode.signal} ${episode.from}`} desk={desk} episode={episode} />
        ))}
      </ul>
      <h2>{t.recording.drives.title(recording.drives.length)}</h2>
      {recording.drives.length === 0 && <p class="quiet">{t.recording.drives.none}</p>}
      <ul class="jumps">
        {recording.drives.map((drive) => {
          const span = spanOf(drive);
          return (
            <li key={drive.id}>
              <button type="button" class="plain jump" onClick={() => desk.model.goToDrive(span)}>
                <span class="number">
                  {desk.zone.clock(span.fromMs, 60_000)} – {desk.zone.clock(span.toMs, 60_000)}
                </span>
                <span class="jump-text">{quantityText(drive.distanceKm, 'km', 1)}</span>
              </button>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

function Episode({ desk, episode }: { desk: Desk; episode: EpisodeReport }) {
  const { model, zone } = desk;
  const span = spanOf(episode);
  const go = () => {
    if (!model.shown.peek().includes(episode.signal)) model.toggle(episode.signal);
    model.goToSpan(span);
  };
  return (
    <li>
      <button type="button" class="plain jump" onClick={go}>
        <StageBadge stage={episode.stage} />
        <span class="number">{zone.clock(span.fromMs, 1000)}</span>
        <span class="jump-text">{episode.label}</span>
      </button>
      <span class="second">
        {t.recording.episodes.of(t.recording.duration(episode.seconds * 1000), quantityText(episode.worst, 'degC', 1))}
      </span>
    </li>
  );
}
