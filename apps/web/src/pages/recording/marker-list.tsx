import type { Note } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { addressOf } from '../../app/location.js';
import { problemOf, sendJson } from '../../data/http.js';
import { TextInput } from '../../kit/field.js';
import { ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import type { Desk, Marker } from './desk.js';

/** Who writes is asked once a visit. */
let lastName = '';

/** What the driver marked while recording, and what people wrote since; a new one stands at the cursor. */
export function MarkerList({ desk }: { desk: Desk }) {
  const { model, zone } = desk;
  const [by, setBy] = useState(lastName);
  const [problem, setProblem] = useState<ReturnType<typeof problemOf> | null>(null);
  const address = `/v1/recordings/${encodeURIComponent(desk.recording.upload)}/markers`;
  const attempt = (work: Promise<void>) =>
    work.then(
      () => {
        setProblem(null);
        return true;
      },
      (thrown: unknown) => {
        setProblem(problemOf(thrown));
        return false;
      },
    );
  const add = async (text: string) => {
    const at = new Date(Math.round(model.cursorMs.peek())).toISOString();
    const note = await sendJson<Note>('POST', address, { at, text, by });
    const marker: Marker = { id: note.id, at: note.at ?? at, text: note.text, by: note.by, writtenAt: note.writtenAt };
    desk.markers.value = [...desk.markers.peek(), marker].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  };
  const remove = async (id: string) => {
    await sendJson('DELETE', addressOf(`${address}/${encodeURIComponent(id)}`, { by }));
    desk.markers.value = desk.markers.peek().filter((marker) => marker.id !== id);
  };
  const named = (name: string) => {
    lastName = name;
    setBy(name);
  };
  return (
    <section class="card markers" aria-labelledby="markers-title">
      <h2 id="markers-title">{t.recording.markers.title(desk.markers.value.length)}</h2>
      <MarkerForm at={zone.clock(model.readMs.value, 100)} by={by} onBy={named} onAdd={(text) => attempt(add(text))} />
      {problem && <ProblemNotice problem={problem} />}
      {desk.markers.value.length === 0 && <p class="quiet">{t.recording.markers.none}</p>}
      <ul class="jumps">
        {desk.markers.value.map((marker, index) => (
          <li key={marker.id ?? `recorded ${index}`}>
            <button type="button" class="plain jump" onClick={() => model.goTo(Date.parse(marker.at))}>
              <span class="flag" aria-hidden="true">
                {marker.id === null ? '◆' : '◇'}
              </span>
              <span class="number">{zone.clock(Date.parse(marker.at), 100)}</span>
              <span class="jump-text">{marker.text || t.recording.markers.unnamed}</span>
            </button>
            <span class="second">
              {marker.by === null
                ? t.recording.markers.recorded
                : t.recording.markers.added(
                    marker.by,
                    marker.writtenAt ? zone.full(Date.parse(marker.writtenAt), 60_000) : '',
                  )}
            </span>
            {marker.id !== null && (
              <button
                type="button"
                class="plain small"
                disabled={by.trim() === ''}
                title={by.trim() === '' ? t.recording.markers.nameFirst : undefined}
                aria-label={t.recording.markers.removeOf(marker.text)}
                onClick={() => void attempt(remove(marker.id!))}
              >
                {t.recording.markers.remove}
              </button>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}

interface FormProps {
  at: string;
  by: string;
  onBy: (name: string) => void;
  /** False where it could not be saved: what was written stays. */
  onAdd: (text: string) => Promise<boolean>;
}

function MarkerForm({ at, by, onBy, onAdd }: FormProps) {
  const [text, setText] = useState('');
  const ready = text.trim() !== '' && by.trim() !== '';
  const submit = async (event: Event) => {
    event.preventDefault();
    if (!ready) return;
    if (await onAdd(text.trim())) setText('');
  };
  return (
    <form class="row marker-form" aria-label={t.recording.markers.form} onSubmit={(event) => void submit(event)}>
      <TextInput label={t.recording.markers.text} value={text} onInput={setText} />
      <TextInput label={t.recording.markers.by} value={by} onInput={onBy} />
      <button type="submit" disabled={!ready}>
        {t.recording.markers.add(at)}
      </button>
    </form>
  );
}
