import type { RankingList, SettingDocument, SignalLimit, Vehicle } from '@tallybay/contracts';
import { isSignalId, signalRow } from '@tallybay/decode';
import { useState } from 'preact/hooks';
import { useResource } from '../../data/resource.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution, Notice } from '../../kit/notice.js';
import { StageBadge } from '../../kit/stage.js';
import { t } from '../../text/text.js';
import { CrossingsTrial } from './crossings-trial.js';
import { LimitForm } from './limit-form.js';
import { intervalText, keyOf, sortedRows } from './limit-rows.js';
import { Save } from './save.js';

const SETTING = '/v1/settings/signal-limits';

/** Low and high limits on any signal: listed, changed, tried on a past week, saved with who did it. */
export function SignalLimits() {
  const setting = useResource<SettingDocument>(SETTING);
  const weeks = useResource<RankingList>('/v1/rankings');
  const fleet = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const vehicles = fleet.state === 'ready' ? fleet.data.vehicles : [];
  return (
    <>
      <p>{t.signalLimits.lead}</p>
      <Caution text={t.signalLimits.caution} />
      <Loaded of={setting} what={t.signalLimits.what}>
        {(data) => (
          <Editor
            key={data.version}
            setting={data}
            vehicles={vehicles}
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
  vehicles: readonly Vehicle[];
  weeks: readonly string[];
  onSaved: () => void;
}

function Editor({ setting, vehicles, weeks, onSaved }: EditorProps) {
  const inForce = sortedRows(setting.document as SignalLimit[]);
  const [rows, setRows] = useState(inForce);
  const [at, setAt] = useState(-1);
  const changed = JSON.stringify(rows) !== JSON.stringify(inForce);
  const put = (row: SignalLimit) => {
    setRows(sortedRows(at < 0 ? [...rows, row] : rows.with(at, row)));
    setAt(-1);
  };
  return (
    <div class="stack">
      <p class="quiet">{t.limits.version(setting.version, setting.updatedAt, setting.updatedBy)}</p>
      <LimitTable
        rows={rows}
        onChange={setAt}
        onRemove={(index) => {
          setRows(rows.toSpliced(index, 1));
          setAt(-1);
        }}
      />
      <LimitForm
        key={at < 0 ? 'new' : keyOf(rows[at] as SignalLimit)}
        rows={rows}
        at={at}
        classes={[...new Set(vehicles.map(({ vehicleClass }) => vehicleClass))].toSorted()}
        vehicles={vehicles.map(({ id }) => id).toSorted()}
        onPut={put}
        onCancel={() => setAt(-1)}
      />
      <CrossingsTrial limits={rows} weeks={weeks} changed={changed} />
      <Save
        setting={{ path: SETTING, version: setting.version }}
        document={rows}
        changed={changed}
        label={t.signalLimits.save}
        onSaved={onSaved}
        onReset={() => {
          setRows(inForce);
          setAt(-1);
        }}
      />
    </div>
  );
}

interface LimitTableProps {
  rows: readonly SignalLimit[];
  onChange: (index: number) => void;
  onRemove: (index: number) => void;
}

function LimitTable({ rows, onChange, onRemove }: LimitTableProps) {
  const { columns } = t.signalLimits;
  if (rows.length === 0) return <Notice kind="info" title={t.signalLimits.none} />;
  return (
    <div class="card signal-limits">
      <table class="facts">
        <caption class="quiet">{t.signalLimits.listed(rows.length)}</caption>
        <thead>
          <tr>
            {[columns.signal, columns.limit, columns.who, columns.when, columns.source].map((head) => (
              <th key={head} scope="col">
                {head}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {rows.map((row, index) => (
            <LimitLine key={keyOf(row)} row={row} onChange={() => onChange(index)} onRemove={() => onRemove(index)} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

function LimitLine({ row, onChange, onRemove }: { row: SignalLimit; onChange: () => void; onRemove: () => void }) {
  const words = t.signalLimits;
  const label = isSignalId(row.signal) ? signalRow(row.signal).label : row.signal;
  const what = `${label} ${words[row.direction]} ${row.written}`;
  return (
    <tr>
      <th scope="row">{label}</th>
      <td>
        <StageBadge stage={row.stage} /> {words[row.direction]} {row.written}
      </td>
      <td>{words.who(row)}</td>
      <td>
        {words.during[row.during]}
        <span class="second">{words.fineprint(intervalText(row.hysteresis, row.signal), row.minSeconds)}</span>
      </td>
      <td>{row.source}</td>
      <td class="edit">
        <button type="button" aria-label={words.changeOf(what)} onClick={onChange}>
          {words.change}
        </button>
        <button type="button" aria-label={words.removeOf(what)} onClick={onRemove}>
          {words.remove}
        </button>
      </td>
    </tr>
  );
}
