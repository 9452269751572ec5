import { signal } from '@preact/signals';
import type { EpisodeReport, Recording } from '@tallybay/contracts';
import { t } from '../../text/text.js';
import { FrameDraw } from './frame-draw.js';
import { RecordingModel } from './recording-model.js';
import { ZoneTime } from './zone-time.js';

export type Marker = Recording['markers'][number];

/** Everything that the parts of the page share while one recording is open. */
export class Desk {
  readonly model: RecordingModel;
  readonly frames = new FrameDraw();
  readonly zone: ZoneTime;
  /** Markers as they are now: added and taken away while the page is open. */
  readonly markers = signal<readonly Marker[]>([]);
  readonly episodes: readonly EpisodeReport[];

  constructor(readonly recording: Recording) {
    this.model = new RecordingModel(recording);
    this.zone = new ZoneTime(recording.timeZone, t.locale);
    this.markers.value = recording.markers;
    this.episodes = recording.episodes;
  }

  /** Where a reader jumps to: markers, and the first instants of episodes. */
  instants(): number[] {
    const all = [...this.markers.peek().map(({ at }) => at), ...this.episodes.map(({ from }) => from)];
    return [...new Set(all.map((at) => Date.parse(at)))];
  }
}
