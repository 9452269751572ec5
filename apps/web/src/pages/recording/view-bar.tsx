import { useState } from 'preact/hooks';
import { t } from '../../text/text.js';
import type { Desk } from './desk.js';
import { KEYS, PAN_SHARE, ZOOM_STEP } from './plot-keys.js';
import { lengthOf } from './time-span.js';

/** What the lanes show: closer, wider, along; the span that was chosen; the link to all of it. */
export function ViewBar({ desk, link }: { desk: Desk; link: () => string }) {
  const { model } = desk;
  const words = t.recording.view;
  return (
    <div class="view-bar">
      <fieldset class="button-set" aria-label={words.label}>
        <button type="button" class="small" onClick={() => model.zoom(ZOOM_STEP)}>
          {words.closer}
        </button>
        <button type="button" class="small" onClick={() => model.zoom(1 / ZOOM_STEP)}>
          {words.wider}
        </button>
        <button type="button" class="small" onClick={() => model.pan(-PAN_SHARE)}>
          {words.earlier}
        </button>
        <button type="button" class="small" onClick={() => model.pan(PAN_SHARE)}>
          {words.later}
        </button>
        <button type="button" class="small" onClick={() => model.showAll()}>
          {words.all}
        </button>
      </fieldset>
      <ViewText desk={desk} />
      <label class="check">
        <input
          type="checkbox"
          checked={model.fit.value}
          onChange={(event) => {
            model.fit.value = event.currentTarget.checked;
          }}
        />
        {words.fit}
      </label>
      <CopyLink link={link} />
    </div>
  );
}

/** Alone, because it follows every frame of a movement. */
function ViewText({ desk: { model, zone } }: { desk: Desk }) {
  const view = model.view.value;
  return (
    <span class="quiet number view-text">
      {zone.clock(view.fromMs, 1000)} – {zone.clock(view.toMs, 1000)} ({t.recording.duration(lengthOf(view))})
    </span>
  );
}

/** A stretch for the replay to repeat, or to look at closely. */
export function SpanBar({ desk }: { desk: Desk }) {
  const { model, zone } = desk;
  const chosen = model.chosen.value;
  const words = t.recording.span;
  return (
    <fieldset class="span-bar" aria-label={words.label}>
      <button type="button" class="small" onClick={() => model.chooseEnd('from')}>
        {words.from}
      </button>
      <button type="button" class="small" onClick={() => model.chooseEnd('to')}>
        {words.to}
      </button>
      {chosen ? (
        <>
          <span class="number">
            {zone.clock(chosen.fromMs, 100)} – {zone.clock(chosen.toMs, 100)} ({t.recording.duration(lengthOf(chosen))})
          </span>
          <label class="check">
            <input
              type="checkbox"
              checked={model.repeat.value}
              onChange={(event) => {
                model.repeat.value = event.currentTarget.checked;
              }}
            />
            {words.repeat}
          </label>
          <button type="button" class="small" onClick={() => model.show(chosen)}>
            {words.show}
          </button>
          <button type="button" class="small" onClick={() => model.choose(null)}>
            {words.clear}
          </button>
        </>
      ) : (
        <span class="quiet">{words.none}</span>
      )}
    </fieldset>
  );
}

function CopyLink({ link }: { link: () => string }) {
  const [said, setSaid] = useState('');
  const copy = async () => {
    const address = link();
    try {
      await navigator.clipboard.writeText(address);
      setSaid(t.recording.view.copied);
    } catch {
      // Without https browsers keep the clipboard to themselves; the address bar has the same link.
      setSaid(t.recording.view.notCopied);
    }
  };
  return (
    <span class="copy-link">
      <button type="button" class="small" onClick={() => void copy()}>
        {t.recording.view.copy}
      </button>
      <span class="quiet" role="status">
        {said}
      </span>
    </span>
  );
}

export const KeyList = () => (
  <details class="key-list">
    <summary>{t.recording.keys.title}</summary>
    <p class="quiet">{t.recording.keys.hands}</p>
    <dl>
      {KEYS.map(({ id, shown }) => (
        <div key={id}>
          <dt>
            <kbd>{shown}</kbd>
          </dt>
          <dd>{t.recording.keys[id]}</dd>
        </div>
      ))}
    </dl>
  </details>
);
