import type { Profile } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { setQuery } from '../../app/location.js';
import { editOf, problemOf, sendJson } from '../../data/http.js';
import { Dialog } from '../../kit/dialog.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { type Item, patch, profiles, said } from './items.js';
import { MappingTable } from './mapping-table.js';
import type { Preview } from './preview.js';

type LogPreview = Extract<Preview, { kind: 'log' }>;

/** What one log holds, before it is sent; the mapping can be corrected and kept for its recorder. */
export function PreviewDialog({ item, onSaved }: { item: Item; onSaved: () => void }) {
  if (item.preview?.kind !== 'log') return null;
  const { preview } = item;
  return (
    <Dialog title={t.upload.preview(item.file.name)} onClose={() => setQuery({ file: null })} wide>
      <Facts preview={preview} />
      <Problems preview={preview} />
      <h3>{t.upload.mapping}</h3>
      <p class="quiet">{t.upload.mappingLead}</p>
      {preview.profile && <p>{t.upload.profileUsed(preview.profile)}</p>}
      <SaveProfile item={item} preview={preview} onSaved={onSaved} />
      <MappingTable item={item} preview={preview} />
    </Dialog>
  );
}

function Facts({ preview }: { preview: LogPreview }) {
  const { inspection } = preview;
  const rejected = Object.values(inspection.rowsRejectedBy).reduce((sum, count) => sum + count, 0);
  const { first, last, zone } = inspection.time;
  const rows: [string, string][] = [
    [
      t.upload.span,
      first && last ? `${t.upload.spanText(first, last)} (${zone ?? t.upload.notSaid})` : t.upload.noSpan,
    ],
    [t.upload.rows, t.upload.rowsText(inspection.rows, rejected)],
    [t.upload.vin, preview.vin ?? t.upload.notSaid],
    [t.upload.recorder, preview.recorder ?? t.upload.notSaid],
    [t.upload.dialect, inspection.decisions.map(({ what, value, why }) => `${what}: ${value} (${why})`).join('; ')],
  ];
  return (
    <table class="facts">
      <tbody>
        {rows.map(([name, value]) => (
          <tr key={name}>
            <th scope="row" class="fact-name">
              {name}
            </th>
            <td>{value}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const Problems = ({ preview }: { preview: LogPreview }) => (
  <section>
    <h3>{t.upload.problems}</h3>
    {preview.inspection.problems.length === 0 ? (
      <p>{t.upload.noProblems}</p>
    ) : (
      <ul>
        {preview.inspection.problems.map((problem) => (
          <li key={problem.text}>{problem.text}</li>
        ))}
      </ul>
    )}
  </section>
);

type Registered = Profile & { version: number };

function SaveProfile({ item, preview, onSaved }: { item: Item; preview: LogPreview; onSaved: () => void }) {
  const [saved, setSaved] = useState<string | null>(null);
  const [problem, setProblem] = useState<ReturnType<typeof problemOf> | null>(null);
  const recorder = preview.recorder ?? (said.value.recorder || null);
  if (problem) return <ProblemNotice problem={problem} onRetry={() => setProblem(null)} />;
  if (saved) return <Notice kind="good" title={t.upload.profileSaved(saved)} live />;
  if (Object.keys(item.channels).length === 0) return null;
  if (!recorder) return <Notice kind="caution" title={t.upload.profileNeedsRecorder} live />;
  const save = async () => {
    try {
      await saveProfile(recorder, item.channels);
      patch(item.id, { channels: {} });
      setSaved(recorder);
      onSaved();
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
  };
  return (
    <Notice kind="info" title={t.upload.changedNotSaved} live>
      <button type="button" class="main" onClick={() => void save()}>
        {t.upload.saveProfile(recorder)}
      </button>
    </Notice>
  );
}

/** Corrections are added to what the recorder's profile already says. @throws ProblemError, also when edited meanwhile */
async function saveProfile(recorder: string, channels: Item['channels']): Promise<void> {
  const known = profiles.peek().find((profile) => profile.recorder === recorder) as Registered | undefined;
  const { version, ...before } = known ?? { version: 0, id: `${recorder}-mapping`, recorder };
  const profile: Profile = { ...before, channels: { ...before.channels, ...channels } };
  await sendJson('PUT', `/v1/profiles/${encodeURIComponent(profile.id)}`, profile, editOf(version));
}
