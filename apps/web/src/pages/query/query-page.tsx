import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { useResource } from '../../data/resource.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { EXAMPLES } from './examples.js';
import { QuickPlot } from './quick-plot.js';
import { ResultGrid } from './result-grid.js';
import { SavedQuestions } from './saved-questions.js';
import type { QueryResult, QueryViews } from './shapes.js';
import { SqlEditor } from './sql-editor.js';
import { TakeAlong } from './take-along.js';
import { type Run, useRun } from './use-run.js';
import { ViewList } from './view-list.js';
import './query.css';

const PERSON_KEY = 'tallybay.person';

/** The analyst's page: a statement, its answer as a grid and a quick plot, examples, saved questions, links. */
export function QueryPage() {
  const views = useResource<QueryViews>('/v1/query/views');
  const [person, setPerson] = useState(() => localStorage.getItem(PERSON_KEY) ?? '');
  const [sql, setSql] = useState(() => query.peek().get('sql') ?? EXAMPLES[0]!.sql);
  const [stamp, setStamp] = useState(0);
  const insert = useRef<(text: string) => void>(() => {});
  const { run, start, cancel } = useRun(person);
  const result = query.value.get('result');
  const kept = useResource<QueryResult>(result === null ? null : `/v1/query-results/${encodeURIComponent(result)}`);
  const replace = useCallback((text: string) => {
    setSql(text);
    setStamp((before) => before + 1);
  }, []);
  useEffect(() => {
    if (result !== null && kept.state === 'ready') {
      replace(kept.data.sql);
      void start({ result });
    }
  }, [result, kept.state]);
  const runNow = () => {
    setQuery({ sql, result: null });
    void start({ sql });
  };
  const named = (name: string) => {
    setPerson(name);
    localStorage.setItem(PERSON_KEY, name);
  };
  const loaded = views.state === 'ready' ? views.data : null;
  return (
    <>
      <PageTitle text={t.query.title} />
      <p>{t.query.lead}</p>
      {kept.state === 'error' && <ProblemNotice problem={kept.problem} what={t.query.theAnswer} />}
      {kept.state === 'ready' && result !== null && (
        <Notice kind="info">{t.query.sharedAnswer(kept.data.name, kept.data.person, dayOf(kept.data.madeAt))}</Notice>
      )}
      <div class="query-layout">
        <div class="stack">
          <div class="card stack">
            <SqlEditor
              text={sql}
              stamp={stamp}
              views={loaded}
              onChange={setSql}
              onRun={runNow}
              onReady={(put) => {
                insert.current = put;
              }}
            />
            <p class="quiet">{t.query.editorHint}</p>
            <div class="row">
              {run.state === 'running' ? (
                <button type="button" onClick={cancel}>
                  {t.query.cancel}
                </button>
              ) : (
                <button type="button" class="main" onClick={runNow}>
                  {t.query.run}
                </button>
              )}
              <TextInput label={t.query.person} value={person} onInput={named} hint={t.query.personHint} />
            </div>
          </div>
          <Outcome run={run} sql={sql} person={person} />
        </div>
        <aside class="stack">
          <Examples onChoose={replace} />
          <SavedQuestions sql={sql} person={person} onChoose={replace} />
          {views.state === 'error' && (
            <ProblemNotice problem={views.problem} what={t.query.what} onRetry={views.reload} />
          )}
          {loaded && <ViewList views={loaded} onChoose={(name) => insert.current(name)} />}
        </aside>
      </div>
    </>
  );
}

function Outcome({ run, sql, person }: { run: Run; sql: string; person: string }) {
  if (run.state === 'none') return null;
  const { rows, columns } = run.answer;
  return (
    <section class="stack" aria-label={t.query.result}>
      <p role="status">{stateText(run)}</p>
      {run.problem && <ProblemNotice problem={run.problem} />}
      {run.state === 'done' && rows.length === 0 && (
        <Notice kind="info" title={t.query.noRows}>
          {t.query.noRowsAdvice}
        </Notice>
      )}
      {run.truncated && <Notice kind="caution">{t.query.truncated(rows.length)}</Notice>}
      {columns.length > 0 && rows.length > 0 && <ResultGrid answer={run.answer} version={run.version} />}
      {run.state === 'done' && rows.length > 0 && (
        <>
          <TakeAlong sql={sql} person={person} />
          <div class="card stack">
            <h2>{t.query.plot}</h2>
            <QuickPlot answer={run.answer} />
          </div>
        </>
      )}
    </section>
  );
}

function stateText({ state, answer, seconds }: Run): string {
  if (state === 'running') return t.query.running(seconds, answer.rows.length);
  if (state === 'cancelled') return t.query.cancelled;
  return state === 'done' ? t.query.done(answer.rows.length, seconds) : '';
}

const Examples = ({ onChoose }: { onChoose: (sql: string) => void }) => (
  <details class="card" open>
    <summary>{t.query.examples}</summary>
    <p class="quiet">{t.query.examplesLead}</p>
    <ol class="examples">
      {EXAMPLES.map(({ id, sql }) => (
        <li key={id}>
          <button type="button" class="plain" onClick={() => onChoose(sql)}>
            {t.query.example[id].title}
          </button>
          <p class="quiet">{t.query.example[id].why}</p>
        </li>
      ))}
    </ol>
  </details>
);

const dayOf = (instant: string): string => new Date(instant).toLocaleString(t.locale);
