import type { Upload, UploadList } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { problemOf, sendJson } from '../../data/http.js';
import { useResource } from '../../data/resource.js';
import { TextInput } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { sizeText } from './sizes.js';

/** Uploads that do not say which vehicle or when: one field, one button each. */
export function WaitingList() {
  const waiting = useResource<UploadList>('/v1/uploads?state=waiting&limit=200');
  const [done, setDone] = useState<string | null>(null);
  return (
    <section aria-labelledby="waiting-title">
      <h2 id="waiting-title">{t.upload.waiting}</h2>
      <p class="quiet">{t.upload.waitingLead}</p>
      {done && <Notice kind="good" title={done} live />}
      <Loaded
        of={waiting}
        what={t.upload.theWaiting}
        empty={{ when: ({ uploads }) => uploads.length === 0, title: t.upload.waitingNone, children: null }}
      >
        {({ uploads }) => (
          <ul class="waiting">
            {uploads.map((upload) => (
              <WaitingUpload
                key={upload.id}
                upload={upload}
                onReleased={(text) => {
                  setDone(text);
                  waiting.reload();
                }}
              />
            ))}
          </ul>
        )}
      </Loaded>
    </section>
  );
}

const NEEDS_TIME = ['time_missing'];
const NEEDS_ZONE = ['zone_missing'];

function WaitingUpload({ upload, onReleased }: { upload: Upload; onReleased: (text: string) => void }) {
  const [vehicle, setVehicle] = useState('');
  const [recordedAt, setRecordedAt] = useState('');
  const [timeZone, setTimeZone] = useState('');
  const [problem, setProblem] = useState<ReturnType<typeof problemOf> | null>(null);
  const name = upload.fileName ?? t.upload.unnamed;
  const code = upload.problem?.code ?? '';
  const needsTime = NEEDS_TIME.includes(code);
  const needsZone = NEEDS_ZONE.includes(code);
  const release = async () => {
    setProblem(null);
    const body = {
      ...(vehicle && { vehicle }),
      ...(recordedAt && { recordedAt: new Date(recordedAt).toISOString() }),
      ...(timeZone && { timeZone }),
    };
    try {
      const after = await sendJson<Upload>('POST', `/v1/uploads/${upload.id}/release`, body);
      if (after.state === 'waiting' && after.problem) return setProblem(after.problem);
      onReleased(after.vehicle ? t.upload.released(name, after.vehicle) : t.upload.releasedPlain(name));
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
  };
  return (
    <li class="card">
      <strong>{name}</strong>{' '}
      <span class="quiet">
        {t.upload.received(
          new Date(upload.receivedAt).toLocaleString(t.locale, { dateStyle: 'medium', timeStyle: 'short' }),
          sizeText(upload.bytes),
        )}
      </span>
      {upload.problem && <p>{upload.problem.detail}.</p>}
      <form
        class="row"
        aria-label={t.upload.releaseOf(name)}
        onSubmit={(event) => {
          event.preventDefault();
          void release();
        }}
      >
        {!needsTime && !needsZone && (
          <TextInput label={t.upload.vehicle} value={vehicle} onInput={setVehicle} list="vehicle-ids" />
        )}
        {needsTime && (
          <TextInput label={t.upload.recordedAt} type="datetime-local" value={recordedAt} onInput={setRecordedAt} />
        )}
        {(needsZone || needsTime) && <TextInput label={t.upload.zone} value={timeZone} onInput={setTimeZone} />}
        <button type="submit" class="main" disabled={!vehicle && !recordedAt && !timeZone}>
          {t.upload.release}
        </button>
      </form>
      {problem && <ProblemNotice problem={problem} />}
    </li>
  );
}
