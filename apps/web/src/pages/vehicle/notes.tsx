import type { NewNote, Note, NoteList, ProblemDocument } from '@tallybay/contracts';
import { useId, useState } from 'preact/hooks';
import { recordingHref } from '../../app/places.js';
import { problemOf, sendJson } from '../../data/http.js';
import { Field, TextInput } from '../../kit/field.js';
import { ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { ofVehicle } from './span.js';
import { DepotTime } from './when.js';

const MOST_CHARACTERS = 500;

interface NotesProps {
  vehicle: string;
  data: NoteList;
  timeZone: string;
  onAdded: () => void;
}

/** What people wrote about the vehicle, newest first. */
export function Notes({ vehicle, data, timeZone, onAdded }: NotesProps) {
  const time = new DepotTime(timeZone);
  const words = t.vehicle.notes;
  return (
    <>
      {data.notes.length === 0 ? (
        <p>{words.none}</p>
      ) : (
        <ul class="notes">
          {data.notes.map((note) => (
            <li key={note.id}>
              <p>{note.text}</p>
              <small class="quiet">
                {words.byline(note.by, time.full(note.writtenAt))}
                {note.upload && (
                  <>
                    {' '}
                    <a href={recordingHref(note.upload, { at: note.at })}>{words.atRecording}</a>
                  </>
                )}
              </small>
            </li>
          ))}
        </ul>
      )}
      <NoteForm vehicle={vehicle} onAdded={onAdded} />
    </>
  );
}

function NoteForm({ vehicle, onAdded }: { vehicle: string; onAdded: () => void }) {
  const [text, setText] = useState('');
  const [by, setBy] = useState('');
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const title = useId();
  const words = t.vehicle.notes;
  const tooLong = text.length > MOST_CHARACTERS;
  const add = async (event: Event) => {
    event.preventDefault();
    setBusy(true);
    setProblem(null);
    try {
      const body: NewNote = { text, by };
      await sendJson<Note>('POST', ofVehicle(vehicle, 'notes'), body);
      setText('');
      onAdded();
    } catch (thrown) {
      setProblem(problemOf(thrown));
    } finally {
      setBusy(false);
    }
  };
  return (
    <form class="note-form no-print" aria-labelledby={title} onSubmit={(event) => void add(event)}>
      <Field label={words.text} error={tooLong ? words.tooLong : null}>
        {(ids) => <textarea {...ids} rows={3} value={text} onInput={(event) => setText(event.currentTarget.value)} />}
      </Field>
      <div class="row">
        <TextInput label={words.by} value={by} onInput={setBy} />
        <button type="submit" id={title} disabled={busy || tooLong || text.trim() === '' || by.trim() === ''}>
          {words.add}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
    </form>
  );
}
