import { useState } from 'preact/hooks';
import { editOf, problemOf, sendJson } from '../../data/http.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';

interface SaveProps {
  setting: { path: string; version: number };
  document: unknown;
  changed: boolean;
  label: string;
  onSaved: () => void;
  onReset: () => void;
}

/** Saves a setting with who did it, unless somebody else changed it meanwhile. */
export function Save({ setting, document, changed, label, onSaved, onReset }: SaveProps) {
  const [by, setBy] = useState('');
  const [problem, setProblem] = useState<ReturnType<typeof problemOf> | null>(null);
  const save = async () => {
    const headers = { ...editOf(setting.version), 'x-tallybay-editor': by };
    try {
      await sendJson('PUT', setting.path, document, headers);
      onSaved();
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
  };
  if (!changed) return null;
  return (
    <Notice kind="info" title={t.limits.unsaved}>
      <div class="row">
        <TextInput label={t.limits.by} hint={t.limits.byHint} value={by} onInput={setBy} />
        <button type="button" class="main" disabled={by.trim() === ''} onClick={() => void save()}>
          {label}
        </button>
        <button type="button" onClick={onReset}>
          {t.limits.reset}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
    </Notice>
  );
}
