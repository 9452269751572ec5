import { useState } from 'preact/hooks';
import { addressOf } from '../../app/location.js';
import { TextInput } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { editorName, keepEditorName } from '../plan/plan-actions.js';
import type { EditedSetting } from './edited-setting.js';
import { SPECS, viewOf } from './tables.js';

/** What is not saved yet, why it cannot be, and what somebody else did meanwhile. */
export function SaveBar({ setting, onSaved }: { setting: EditedSetting; onSaved: (said: string) => void }) {
  const [by, setBy] = useState(editorName);
  const [saving, setSaving] = useState(false);
  if (!setting.changed) return null;
  const words = t.shop;
  const tables = words.documents[setting.id];
  const save = async () => {
    setSaving(true);
    if (await setting.save()) onSaved(words.saved(tables));
    setSaving(false);
  };
  return (
    <Notice kind="info" title={words.unsaved(tables)}>
      {setting.both && (
        <p role="status">
          {words.onTop} {setting.both.length > 0 && words.bothChanged(namesOf(setting))}
        </p>
      )}
      <div class="row">
        <TextInput
          label={words.by}
          hint={words.byHint}
          value={by}
          onInput={(value) => {
            setBy(value);
            keepEditorName(value);
          }}
        />
        <button type="button" class="main" disabled={by.trim() === '' || saving} onClick={() => void save()}>
          {words.save(tables)}
        </button>
        <button type="button" onClick={setting.undo}>
          {words.undo}
        </button>
      </div>
      {setting.theirs ? <Conflict setting={setting} /> : <Wrong setting={setting} />}
    </Notice>
  );
}

/** Every field that does not fit, with a way to the table where it stands. */
function Wrong({ setting: { id, problems, problem } }: { setting: EditedSetting }) {
  const words = t.shop;
  if (problems.length === 0) return problem && <ProblemNotice problem={problem} />;
  return (
    <div role="alert">
      <strong class="field-error">{words.wrong(problems.length)}</strong>
      <ul>
        {problems.map(({ field, text }) => {
          const view = viewOf(id, field);
          return (
            <li key={field}>
              <a href={addressOf('/plan/shop', { view: view.id })}>{words.viewNames[view.id]}</a>: {text}
            </li>
          );
        })}
      </ul>
    </div>
  );
}

function Conflict({ setting }: { setting: EditedSetting }) {
  const words = t.shop;
  return (
    <Notice kind="caution" title={`${words.conflict(setting.theirs?.updatedBy ?? null)}.`} live>
      <p>{words.conflictAdvice}</p>
      <div class="row">
        <button type="button" onClick={setting.putOnTheirs}>
          {words.putOnTop}
        </button>
        <button type="button" onClick={setting.takeTheirs}>
          {words.takeTheirs}
        </button>
      </div>
    </Notice>
  );
}

const namesOf = ({ id, both }: EditedSetting): string =>
  (both ?? []).map((key) => SPECS[id].find((spec) => spec.key === key)?.label ?? key).join(', ');
