import type { PlanRun, ProblemDocument } from '@tallybay/contracts';
import { useEffect, useState } from 'preact/hooks';
import { getJson, problemOf, sendJson } from '../../data/http.js';
import { sentencesOf } from '../../data/problem-words.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { editorHeader, editorName, keepEditorName } from './plan-actions.js';
import { percentText } from './plan-report.js';

const ASK_EVERY_MS = 400;

/** Starts the planner and shows how far it is, also when somebody else has started it. */
export function PlanRunner({ onDone, proposals }: { onDone: () => void; proposals: boolean }) {
  const [run, setRun] = useState<PlanRun | null>(null);
  const [name, setName] = useState(editorName);
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const running = run?.state === 'running';
  useEffect(() => {
    getJson<PlanRun>('/v1/plan/run').then(setRun, (thrown: unknown) => setProblem(problemOf(thrown)));
  }, []);
  useEffect(() => {
    if (!running) return;
    const timer = setInterval(() => {
      getJson<PlanRun>('/v1/plan/run').then(
        (next) => {
          setRun(next);
          if (next.state !== 'running') onDone();
        },
        (thrown: unknown) => setProblem(problemOf(thrown)),
      );
    }, ASK_EVERY_MS);
    return () => clearInterval(timer);
  }, [running, onDone]);
  const send = (path: string, body: unknown, then: (answer: PlanRun) => void) => {
    setProblem(null);
    sendJson<PlanRun>('POST', path, body, editorHeader()).then(then, (thrown: unknown) =>
      setProblem(problemOf(thrown)),
    );
  };
  return (
    <div class="plan-runner">
      <TextInput
        label={t.plan.editor}
        hint={t.plan.editorHint}
        value={name}
        onInput={(value) => {
          setName(value);
          keepEditorName(value);
        }}
      />
      <div class="row">
        <button
          type="button"
          class="primary"
          disabled={running}
          title={t.plan.makeHint}
          onClick={() => send('/v1/plan', {}, setRun)}
        >
          {t.plan.make}
        </button>
        {proposals && (
          <button type="button" onClick={() => send('/v1/plan/book', undefined, onDone)}>
            {t.plan.bookAll}
          </button>
        )}
      </div>
      <p role="status">{running && t.plan.making(run.seconds, gapText(run))}</p>
      {run?.state === 'failed' && run.problem && (
        <Notice kind="error" title={t.plan.failed}>
          {sentencesOf({ ...run.problem, advice: run.problem.advice ?? undefined }, t.problems).map((sentence) => (
            <p key={sentence}>{sentence}</p>
          ))}
        </Notice>
      )}
      {problem && <ProblemNotice problem={problem} />}
    </div>
  );
}

const gapText = ({ cost, bound }: PlanRun): string | null =>
  cost === null || bound === null || cost === 0 ? null : percentText(Math.max(0, cost - bound) / cost);
