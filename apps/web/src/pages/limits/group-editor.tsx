import { useState } from 'preact/hooks';
import { Notice } from '../../kit/notice.js';
import { STAGES, StageBadge, type StageName } from '../../kit/stage.js';
import { inUnit, shownUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import {
  EVERY_CLASS,
  type Group,
  outOfOrder,
  rowsOf,
  type StageRow,
  withLimit,
  withOwnClass,
  withoutClass,
} from './stage-rows.js';

interface GroupEditorProps {
  rows: readonly StageRow[];
  group: Group;
  onChange: (rows: StageRow[]) => void;
}

/** The four stages of one signal and class, in the reader's unit. */
export function GroupEditor({ rows, group, onChange }: GroupEditorProps) {
  const own = rowsOf(rows, group);
  const unit = shownUnit('degC');
  if (own.length === 0 && group.vehicleClass !== EVERY_CLASS)
    return (
      <Notice kind="info" title={t.limits.noOwn(group.vehicleClass.replaceAll('_', ' '))}>
        <button type="button" onClick={() => onChange(withOwnClass(rows, group.signal, group.vehicleClass))}>
          {t.limits.makeOwn}
        </button>
      </Notice>
    );
  return (
    <>
      <table class="facts stage-rows">
        <caption class="only-read">{t.limits.title}</caption>
        <thead>
          <tr>
            <th scope="col">{t.ranking.stageReached}</th>
            <th scope="col">{t.limits.limitIn(unitLabel(unit))}</th>
            <th scope="col">{t.limits.source}</th>
          </tr>
        </thead>
        <tbody>
          {STAGES.map((stage) => (
            <StageEditor
              key={stage}
              stage={stage}
              row={own.find((row) => row.stage === stage)}
              unit={unit}
              onChange={(text, source) => onChange(withLimit(rows, group, { stage, text, unit, source }))}
            />
          ))}
        </tbody>
      </table>
      {outOfOrder(rows, group) && <Notice kind="caution" title={t.limits.outOfOrder} live />}
      {group.vehicleClass !== EVERY_CLASS && (
        <button type="button" onClick={() => onChange(withoutClass(rows, group))}>
          {t.limits.dropOwn}
        </button>
      )}
    </>
  );
}

interface StageEditorProps {
  stage: StageName;
  row: StageRow | undefined;
  unit: string;
  onChange: (text: string, source: string) => void;
}

/** Keeps what is being typed as typed; the row follows it. */
function StageEditor({ stage, row, unit, onChange }: StageEditorProps) {
  const [text, setText] = useState(row ? shownLimit(row.valueC, unit) : '');
  const [source, setSource] = useState(row?.source ?? '');
  const change = (next: { text?: string; source?: string }) => {
    const now = { text, source, ...next };
    setText(now.text);
    setSource(now.source);
    onChange(now.text, now.source.trim() || t.limits.ownSource);
  };
  return (
    <tr>
      <th scope="row">
        <StageBadge stage={stage} />
        {row?.fuel && <span class="second">{t.limits.onlyFuel(row.fuel)}</span>}
      </th>
      <td>
        <input
          type="number"
          step="0.1"
          inputMode="decimal"
          class="limit"
          aria-label={t.limits.limitOf(t.stages[stage], unitLabel(unit))}
          placeholder={t.limits.none}
          value={text}
          onInput={(event) => change({ text: event.currentTarget.value })}
        />
      </td>
      <td>
        <input
          type="text"
          class="source"
          maxLength={400}
          aria-label={t.limits.sourceOf(t.stages[stage])}
          value={source}
          onInput={(event) => change({ source: event.currentTarget.value })}
        />
      </td>
    </tr>
  );
}

const shownLimit = (valueC: number, unit: string): string => String(Math.round(inUnit(valueC, 'degC', unit) * 10) / 10);
