import type { RankingList, SettingDocument, Vehicle } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { useResource } from '../../data/resource.js';
import { Select } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { shownUnit } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { GroupEditor } from './group-editor.js';
import { Save } from './save.js';
import { SignalLimits } from './signal-limits.js';
import { classesOf, EVERY_CLASS, type StageRow } from './stage-rows.js';
import { Trial } from './trial.js';
import './limits.css';

const SETTING = '/v1/settings/heat-stages';
const ANY_SIGNAL = 'signals';

/** Two kinds of limits: temperatures that rank, and any signal, low and high. */
export function LimitsPage() {
  const anySignal = query.value.get('view') === ANY_SIGNAL;
  return (
    <>
      <PageTitle text={anySignal ? t.signalLimits.anySignal : t.limits.title} />
      <nav class="row" aria-label={t.signalLimits.views}>
        <a href="/limits" aria-current={anySignal ? undefined : 'page'}>
          {t.signalLimits.temperatures}
        </a>
        <a href={`/limits?view=${ANY_SIGNAL}`} aria-current={anySignal ? 'page' : undefined}>
          {t.signalLimits.anySignal}
        </a>
      </nav>
      {anySignal ? <SignalLimits /> : <TemperatureLimits />}
    </>
  );
}

/** Staged limits by signal and class: edited, tried on a past week, then saved with who did it. */
function TemperatureLimits() {
  const setting = useResource<SettingDocument>(SETTING);
  const weeks = useResource<RankingList>('/v1/rankings');
  const fleet = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const classes = fleet.state === 'ready' ? [...new Set(fleet.data.vehicles.map((row) => row.vehicleClass))] : [];
  return (
    <>
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
      <Save
        setting={{ path: SETTING, version: setting.version }}
        document={rows}
        changed={changed}
        label={t.limits.save}
        onSaved={onSaved}
        onReset={() => setRows(inForce)}
      />
    </div>
  );
}

const classLabel = (name: string, own: readonly string[]): string => {
  if (name === EVERY_CLASS) return t.limits.everyClass;
  return own.includes(name) ? t.limits.ownLimits(name.replaceAll('_', ' ')) : name.replaceAll('_', ' ');
};
