import { useEffect } from 'preact/hooks';
import { t } from '../../text/text.js';
import type { Desk } from './desk.js';
import { MINUTE_MS, TEN_SECONDS_MS } from './plot-keys.js';
import { SPEEDS } from './replay.js';

/** A frame that took longer (a hidden tab, a busy machine) counts as this long: the replay never leaps. */
const LONGEST_FRAME_MS = 250;

/** Runs the cursor along, and moves it step by step. */
export function ReplayBar({ desk }: { desk: Desk }) {
  const { model } = desk;
  const playing = model.playing.value;
  useReplay(desk);
  const words = t.recording.replay;
  return (
    <fieldset class="replay" aria-label={words.label}>
      <Move words={words.markBack} sign="⇤" act={() => model.jump(desk.instants(), -1)} />
      <Move words={words.minuteBack} sign={words.minuteBackShort} act={() => model.moveBy(-MINUTE_MS)} />
      <Move words={words.tenBack} sign={words.tenBackShort} act={() => model.moveBy(-TEN_SECONDS_MS)} />
      <Move words={words.sampleBack} sign={words.sampleBackShort} act={() => model.step(-1)} />
      <button type="button" class="main play" onClick={() => model.togglePlaying()}>
        {playing ? words.pause : words.play}
      </button>
      <Move words={words.sampleOn} sign={words.sampleOnShort} act={() => model.step(1)} />
      <Move words={words.tenOn} sign={words.tenOnShort} act={() => model.moveBy(TEN_SECONDS_MS)} />
      <Move words={words.minuteOn} sign={words.minuteOnShort} act={() => model.moveBy(MINUTE_MS)} />
      <Move words={words.markOn} sign="⇥" act={() => model.jump(desk.instants(), 1)} />
      <label class="speed">
        <span>{words.speed}</span>
        <select
          class="small"
          value={String(model.speed.value)}
          onChange={(event) => {
            model.speed.value = Number(event.currentTarget.value);
          }}
        >
          {SPEEDS.map((speed) => (
            <option key={speed} value={String(speed)}>
              {words.times(speed)}
            </option>
          ))}
        </select>
      </label>
      <strong class="cursor-time number">{desk.zone.full(model.readMs.value)}</strong>
    </fieldset>
  );
}

const Move = ({ words, sign, act }: { words: string; sign: string; act: () => void }) => (
  <button type="button" class="small" aria-label={/\w/.test(sign) ? undefined : words} title={words} onClick={act}>
    {sign}
  </button>
);

function useReplay({ model }: Desk): void {
  const playing = model.playing.value;
  useEffect(() => {
    if (!playing) return;
    let before = performance.now();
    let frame = requestAnimationFrame(function next(now) {
      model.advance(Math.min(LONGEST_FRAME_MS, Math.max(0, now - before)));
      before = now;
      frame = requestAnimationFrame(next);
    });
    return () => cancelAnimationFrame(frame);
  }, [playing, model]);
}
