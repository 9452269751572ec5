import { useState } from 'preact/hooks';
import { problemOf, sendJson } from '../../data/http.js';
import { useResource } from '../../data/resource.js';
import { TextInput } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import type { ProblemDocument, Question } from './shapes.js';
import { personHeaders } from './use-run.js';

/** Questions that people have saved, and a place to save this one. */
export function SavedQuestions({
  sql,
  person,
  onChoose,
}: {
  sql: string;
  person: string;
  onChoose: (sql: string) => void;
}) {
  const saved = useResource<{ questions: Question[] }>('/v1/questions');
  const [name, setName] = useState('');
  const [said, setSaid] = useState<string | null>(null);
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const save = async (event: Event) => {
    event.preventDefault();
    setProblem(null);
    try {
      await sendJson('PUT', `/v1/questions/${slugOf(name)}`, { name, sql }, personHeaders(person));
      setSaid(t.query.savedAs(name));
      saved.reload();
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
  };
  return (
    // What went wrong is not left behind a closed lid.
    <details class="card" open={saved.state === 'error'}>
      <summary>{t.query.saved}</summary>
      <Loaded of={saved} what={t.query.theSaved}>
        {({ questions }) =>
          questions.length === 0 ? (
            <p class="quiet">{t.query.savedEmpty}</p>
          ) : (
            <ul class="examples">
              {questions.map((question) => (
                <li key={question.id}>
                  <button type="button" class="plain" onClick={() => onChoose(question.sql)}>
                    {question.name}
                  </button>{' '}
                  <span class="quiet">{t.query.by(question.owner)}</span>
                </li>
              ))}
            </ul>
          )
        }
      </Loaded>
      <form class="stack" onSubmit={(event) => void save(event)}>
        <TextInput label={t.query.saveName} value={name} onInput={setName} />
        <button type="submit" disabled={name.trim() === ''}>
          {t.query.save}
        </button>
      </form>
      {said && (
        <Notice kind="good" live>
          {said}
        </Notice>
      )}
      {problem && <ProblemNotice problem={problem} />}
    </details>
  );
}

/** The address of a question is made of its name. */
const slugOf = (name: string): string =>
  name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 80) || 'question';
