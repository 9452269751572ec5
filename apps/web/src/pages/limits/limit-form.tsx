import type { SignalLimit } from '@tallybay/contracts';
import { SIGNALS } from '@tallybay/decode';
import { useState } from 'preact/hooks';
import { Field, Select, TextInput } from '../../kit/field.js';
import { Notice } from '../../kit/notice.js';
import { STAGES } from '../../kit/stage.js';
import { shownUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { type DraftProblems, draftOf, emptyDraft, type LimitDraft, rowOf, unitsOf } from './limit-rows.js';

const BY_LABEL = SIGNALS.map(({ id, label, unit }) => ({ id, label, unit })).toSorted((a, b) =>
  a.label.localeCompare(b.label),
);
const FIRST = 'engine_oil_pressure_kpa';

interface LimitFormProps {
  rows: readonly SignalLimit[];
  /** Row that is changed, -1 for a new one. */
  at: number;
  classes: readonly string[];
  vehicles: readonly string[];
  onPut: (row: SignalLimit) => void;
  onCancel: () => void;
}

/** One limit, typed in any unit of its quantity. */
export function LimitForm({ rows, at, classes, vehicles, onPut, onCancel }: LimitFormProps) {
  const known = rows[at];
  const [draft, setDraft] = useState<LimitDraft>(known ? draftOf(known) : emptyDraft(FIRST));
  const [problems, setProblems] = useState<DraftProblems>({});
  const change = (part: Partial<LimitDraft>) => {
    setDraft({ ...draft, ...part });
    setProblems({});
  };
  const put = () => {
    const made = rowOf(draft, rows, at);
    if ('problems' in made) return setProblems(made.problems);
    onPut(made.row);
    if (!known) setDraft({ ...draft, value: '' });
  };
  const words = t.signalLimits;
  return (
    <section class="card stack" aria-labelledby="limit-form-title">
      <h2 id="limit-form-title">{known ? words.changing : words.add}</h2>
      <div class="row limit-fields">
        <Select
          label={words.fields.signal}
          value={draft.signal}
          options={BY_LABEL.map(({ id, label }) => ({ value: id, text: label }))}
          onChange={(signal) =>
            change({ signal, unit: shownUnit(BY_LABEL.find(({ id }) => id === signal)?.unit ?? '') })
          }
        />
        <ForWhom
          value={draft.forWhom}
          classes={classes}
          vehicles={vehicles}
          onChange={(forWhom) => change({ forWhom })}
        />
        <Select
          label={words.fields.direction}
          value={draft.direction}
          options={(['high', 'low'] as const).map((value) => ({ value, text: words.directions[value] }))}
          onChange={(direction) => change({ direction: direction as LimitDraft['direction'] })}
        />
        <Select
          label={words.fields.stage}
          value={draft.stage}
          options={STAGES.map((stage) => ({ value: stage, text: t.stages[stage] }))}
          onChange={(stage) => change({ stage: stage as LimitDraft['stage'] })}
        />
        <TextInput
          label={words.fields.value}
          type="number"
          step="any"
          value={draft.value}
          error={problems.value}
          onInput={(value) => change({ value })}
        />
        <Select
          label={words.fields.unit}
          value={draft.unit}
          options={unitsOf(draft.signal).map((unit) => ({ value: unit, text: unitLabel(unit) }))}
          onChange={(unit) => change({ unit })}
        />
        <TextInput
          label={words.fields.hysteresis}
          hint={words.fields.hysteresisHint}
          type="number"
          step="any"
          value={draft.hysteresis}
          error={problems.hysteresis}
          onInput={(hysteresis) => change({ hysteresis })}
        />
        <TextInput
          label={words.fields.minSeconds}
          hint={words.fields.minSecondsHint}
          type="number"
          value={draft.minSeconds}
          error={problems.minSeconds}
          onInput={(minSeconds) => change({ minSeconds })}
        />
        <Select
          label={words.fields.during}
          value={draft.during}
          options={(['running', 'always'] as const).map((value) => ({ value, text: words.during[value] }))}
          onChange={(during) => change({ during: during as LimitDraft['during'] })}
        />
        <TextInput label={words.fields.source} value={draft.source} onInput={(source) => change({ source })} />
      </div>
      {problems.twice && <Notice kind="caution" title={problems.twice} live />}
      <div class="row">
        <button type="button" onClick={put}>
          {known ? words.putBack : words.put}
        </button>
        {known && (
          <button type="button" onClick={onCancel}>
            {words.cancel}
          </button>
        )}
      </div>
    </section>
  );
}

interface ForWhomProps {
  value: string;
  classes: readonly string[];
  vehicles: readonly string[];
  onChange: (value: string) => void;
}

const ForWhom = ({ value, classes, vehicles, onChange }: ForWhomProps) => (
  <Field label={t.signalLimits.fields.forWhom}>
    {(ids) => (
      <select {...ids} value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        <option value="class:*">{t.signalLimits.who({ vehicleClass: '*' })}</option>
        <optgroup label={t.signalLimits.groups.classes}>
          {classes.map((name) => (
            <option key={name} value={`class:${name}`}>
              {t.signalLimits.who({ vehicleClass: name })}
            </option>
          ))}
        </optgroup>
        <optgroup label={t.signalLimits.groups.vehicles}>
          {vehicles.map((id) => (
            <option key={id} value={`vehicle:${id}`}>
              {t.signalLimits.who({ vehicle: id, vehicleClass: '*' })}
            </option>
          ))}
        </optgroup>
      </select>
    )}
  </Field>
);
