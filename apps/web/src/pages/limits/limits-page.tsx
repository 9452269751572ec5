import type { RankingList, SettingDocument, Vehicle } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { editOf, problemOf, sendJson } from '../../data/http.js';
import { useResource } from '../../data/resource.js';
import { Select, TextInput } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution, Notice, ProblemNotice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { shownUnit } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { GroupEditor } from './group-editor.js';
import { classesOf, EVERY_CLASS, type StageRow } from './stage-rows.js';
import { Trial } from './trial.js';
import './limits.css';

/** Staged limits by signal and class: edited, tried on a past week, then saved with who did it. */
export function LimitsPage() {
  const setting = useResource<SettingDocument>('/v1/settings/heat-stages');
  const weeks = useResource<RankingList>('/v1/rankings');
  const fleet = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const classes = fleet.state === 'ready' ? [...new Set(fleet.data.vehicles.map((row) => row.vehicleClass))] : [];
  return (
    <>
      <PageTitle text={t.limits.title} />
      <p>{t.limits.lead}</p>
      <Caution text={t.limits.caution} />
      <Loaded of={setting} what={t.limits.what}>
        {(data) => (
          <Editor
            key={data.version}
            setting={data}
            classes={classes.toSorted()}
            weeks={weeks.state === 'ready' ? [...new Set(weeks.data.rankings.map(({ week }) => week))] : []}
            onSaved={setting.reload}
          />
        )}
      </Loaded>
    </>
  );
}

interface EditorProps {
  setting: SettingDocument;
  classes: readonly string[];
  weeks: readonly string[];
  onSaved: () => void;
}

function Editor({ setting, classes, weeks, onSaved }: EditorProps) {
  const inForce = setting.document as StageRow[];
  const [rows, setRows] = useState<StageRow[]>(inForce);
  const signals = [...new Set(inForce.map((row) => row.signal))];
  const asked = query.value.get('signal');
  const signal = asked && signals.includes(asked) ? asked : (signals[0] ?? '');
  const vehicleClass = query.value.get('class') ?? EVERY_CLASS;
  const changed = JSON.stringify(rows) !== JSON.stringify(inForce);
  return (
    <div class="stack">
      <p class="quiet">{t.limits.version(setting.version, setting.updatedAt, setting.updatedBy)}</p>
      <div class="card stack">
        <div class="row">
          <Select
            label={t.limits.signal}
            value={signal}
            options={signals.map((id) => ({ value: id, text: t.limits.signals[id] ?? id }))}
            onChange={(value) => setQuery({ signal: value })}
          />
          <Select
            label={t.ranking.columns.vehicleClass}
            value={vehicleClass}
            options={[EVERY_CLASS, ...classes].map((name) => ({
              value: name,
              text: classLabel(name, classesOf(rows, signal)),
            }))}
            onChange={(value) => setQuery({ class: value === EVERY_CLASS ? null : value })}
          />
        </div>
        <GroupEditor
          key={`${signal} ${vehicleClass} ${shownUnit('degC')}`}
          rows={rows}
          group={{ signal, vehicleClass }}
          onChange={setRows}
        />
      </div>
      <Trial stages={rows} weeks={weeks} changed={changed} />
      <Save setting={setting} rows={rows} changed={changed} onSaved={onSaved} onReset={() => setRows(inForce)} />
    </div>
  );
}

const classLabel = (name: string, own: readonly string[]): string => {
  if (name === EVERY_CLASS) return t.limits.everyClass;
  return own.includes(name) ? t.limits.ownLimits(name.replaceAll('_', ' ')) : name.replaceAll('_', ' ');
};

interface SaveProps {
  setting: SettingDocument;
  rows: readonly StageRow[];
  changed: boolean;
  onSaved: () => void;
  onReset: () => void;
}

function Save({ setting, rows, changed, onSaved, onReset }: SaveProps) {
  const [by, setBy] = useState('');
  const [problem, setProblem] = useState<ReturnType<typeof problemOf> | null>(null);
  const save = async () => {
    const headers = { ...editOf(setting.version), 'x-tallybay-editor': by };
    try {
      await sendJson('PUT', '/v1/settings/heat-stages', rows, headers);
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
          {t.limits.save}
        </button>
        <button type="button" onClick={onReset}>
          {t.limits.reset}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
    </Notice>
  );
}
