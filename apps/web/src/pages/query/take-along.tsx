import { useState } from 'preact/hooks';
import { ProblemError, problemFrom, problemOf, sendJson } from '../../data/http.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { saveBlob } from '../../kit/save-file.js';
import { t } from '../../text/text.js';
import type { ProblemDocument, QueryResult } from './shapes.js';
import { personHeaders } from './use-run.js';

const TYPES = {
  csv: { accept: 'text/csv', file: 'answer.csv' },
  arrow: { accept: 'application/vnd.apache.arrow.stream', file: 'answer.arrows' },
  parquet: { accept: 'application/vnd.apache.parquet', file: 'answer.parquet' },
} as const;

/** The answer as a file, or as a link for a colleague. Files are asked anew, so that they are whole and typed. */
export function TakeAlong({ sql, person }: { sql: string; person: string }) {
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const [link, setLink] = useState<string | null>(null);
  const attempt = async (work: () => Promise<void>) => {
    setProblem(null);
    await work().catch((thrown: unknown) => setProblem(problemOf(thrown)));
  };
  const share = () =>
    attempt(async () => {
      const kept = await sendJson<QueryResult>('POST', '/v1/query-results', { sql }, personHeaders(person));
      const address = `${location.origin}${location.pathname}?result=${kept.id}`;
      setLink(address);
      // Where the clipboard is closed to pages the link can still be copied by hand.
      await navigator.clipboard?.writeText(address).catch(() => {});
    });
  return (
    <div class="stack">
      <div class="row">
        <span>{t.query.export}</span>
        {(['csv', 'arrow', 'parquet'] as const).map((format) => (
          <button key={format} type="button" onClick={() => void attempt(() => download(sql, person, format))}>
            {t.query.exports[format]}
          </button>
        ))}
        <button type="button" onClick={() => void share()}>
          {t.query.share}
        </button>
      </div>
      {link && (
        <Notice kind="good" title={t.query.sharedHere} live>
          <p>
            <a href={link}>{link}</a>
          </p>
        </Notice>
      )}
      {problem && <ProblemNotice problem={problem} />}
    </div>
  );
}

async function download(sql: string, person: string, format: keyof typeof TYPES): Promise<void> {
  const { accept, file } = TYPES[format];
  const response = await fetch('/v1/query', {
    method: 'POST',
    headers: { accept, 'content-type': 'application/json', ...personHeaders(person) },
    body: JSON.stringify({ sql }),
  });
  if (!response.ok) throw new ProblemError(problemFrom(await response.text(), response.status));
  saveBlob(file, await response.blob());
}
