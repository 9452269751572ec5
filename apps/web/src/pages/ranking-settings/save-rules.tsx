import type { SettingDocument } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { editOf, problemOf, sendJson } from '../../data/http.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';

interface SaveRulesProps {
  changes: readonly { setting: SettingDocument; document: unknown }[];
  /** False while something is typed that cannot be saved. */
  ready: boolean;
  onSaved: () => void;
  onReset: () => void;
}

/** Each changed setting is saved with the version it was made from: what a colleague saved meanwhile is not overwritten. */
export function SaveRules({ changes, ready, onSaved, onReset }: SaveRulesProps) {
  const [by, setBy] = useState('');
  const [saving, setSaving] = useState(false);
  const [problem, setProblem] = useState<ReturnType<typeof problemOf> | null>(null);
  const save = async () => {
    setSaving(true);
    setProblem(null);
    try {
      for (const { setting, document } of changes) {
        const headers = { ...editOf(setting.version), 'x-tallybay-editor': by };
        await sendJson('PUT', `/v1/settings/${setting.name}`, document, headers);
      }
      onSaved();
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
    setSaving(false);
  };
  return (
    <Notice kind="info" title={t.rankingRules.unsaved}>
      <div class="row">
        <TextInput label={t.rankingRules.by} hint={t.rankingRules.byHint} value={by} onInput={setBy} />
        <button type="button" class="main" disabled={by.trim() === '' || !ready || saving} onClick={() => void save()}>
          {t.rankingRules.save}
        </button>
        <button type="button" onClick={onReset}>
          {t.rankingRules.reset}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
    </Notice>
  );
}
