import type { NoticeList as Notices } from '@tallybay/contracts';
import { sendJson } from '../../data/http.js';
import { useResource } from '../../data/resource.js';
import { t } from '../../text/text.js';
import { editorHeader } from './plan-actions.js';

/** What there is to know since somebody last looked; shown until it is marked as seen. */
export function NoticeList() {
  const found = useResource<Notices>('/v1/notices?unseen=true');
  if (found.state !== 'ready' || found.data.notices.length === 0) return null;
  const { notices } = found.data;
  const seen = (ids: string[]) =>
    void sendJson('POST', '/v1/notices/seen', { ids }, editorHeader()).finally(() => found.reload());
  return (
    <details class="notices">
      <summary>
        {t.plan.notices}: {notices.length}
      </summary>
      <ul>
        {notices.map(({ id, words, link }) => (
          <li key={id}>
            {link ? <a href={link}>{words}</a> : words}{' '}
            <button type="button" class="plain" onClick={() => seen([id])} aria-label={`${t.plan.seen}: ${words}`}>
              {t.plan.seen}
            </button>
          </li>
        ))}
      </ul>
      <button type="button" onClick={() => seen(notices.map(({ id }) => id))}>
        {t.plan.seenAll}
      </button>
    </details>
  );
}
