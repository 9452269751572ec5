import { setQuery } from '../../app/location.js';
import { sentencesOf } from '../../data/problem-words.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { t } from '../../text/text.js';
import { type Item, type ItemState, items, sendAll, sendOne } from './items.js';
import { sizeText } from './sizes.js';

const KINDS: Record<ItemState, MarkKind> = {
  reading: 'unknown',
  ready: 'good',
  refused: 'bad',
  checking: 'unknown',
  sending: 'unknown',
  resting: 'caution',
  sent: 'good',
  there: 'good',
  waits: 'caution',
  failed: 'bad',
};
const BUSY: readonly ItemState[] = ['reading', 'checking', 'sending', 'resting'];

export function ItemList() {
  const all = items.value;
  const ready = all.filter(({ state }) => state === 'ready' || state === 'failed').length;
  const failed = all.some(({ state }) => state === 'failed');
  const busy = all.some(({ state }) => BUSY.includes(state));
  return (
    <section class="card">
      <div class="page-title">
        <h2>{t.upload.files}</h2>
        <div class="actions">
          <button type="button" class="main" disabled={ready === 0 || busy} onClick={() => void sendAll()}>
            {ready === 0 ? t.upload.noneReady : t.upload.sendAll(ready)}
          </button>
          <button
            type="button"
            disabled={busy}
            onClick={() => {
              items.value = [];
            }}
          >
            {t.upload.clear}
          </button>
        </div>
      </div>
      {failed && <p>{t.upload.resumeAdvice}</p>}
      <ul class="files" aria-live="polite">
        {all.map((item) => (
          <FileRow key={item.id} item={item} />
        ))}
      </ul>
    </section>
  );
}

function FileRow({ item }: { item: Item }) {
  return (
    <li>
      <div class="file-name">
        <strong>{item.path}</strong> <span class="quiet">{sizeText(item.file.size)}</span>
        <FileSummary item={item} />
        {item.problem && <p class="field-error">{sentencesOf(item.problem, t.problems).join(' ')}</p>}
      </div>
      <div class="file-state">
        <Mark kind={KINDS[item.state]} text={t.upload.states[item.state]} />
        {BUSY.includes(item.state) && <progress aria-label={t.upload.progressOf(item.path)} value={item.share} />}
      </div>
      <div class="actions">
        {item.preview?.kind === 'log' && (
          <button
            type="button"
            class="small"
            aria-label={t.upload.lookOf(item.path)}
            onClick={() => setQuery({ file: String(item.id) })}
          >
            {t.upload.look}
          </button>
        )}
        {item.state === 'failed' && (
          <button type="button" class="small" onClick={() => void sendOne(item.id)}>
            {t.upload.resume}
          </button>
        )}
      </div>
    </li>
  );
}

function FileSummary({ item: { preview } }: { item: Item }) {
  if (preview?.kind === 'snapshot') return <p class="quiet">{t.upload.snapshotText(preview.bodies.length)}</p>;
  if (preview?.kind !== 'log') return null;
  const { time, rows, signals, problems } = preview.inspection;
  const span = time.first && time.last ? t.upload.spanText(time.first, time.last) : t.upload.noSpan;
  return (
    <p class="quiet">
      {t.upload.fileSummary(rows, Object.keys(signals).length, problems.length)} {span}
    </p>
  );
}
