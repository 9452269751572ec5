import type { Exclusion } from '@tallybay/contracts';
import { useId, useState } from 'preact/hooks';
import { vehicleHref } from '../../app/places.js';
import { Select, TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import { COMPONENTS, type Component, type ExclusionDraft, exclusionFrom, today } from './rules-edit.js';

interface ExclusionsEditorProps {
  exclusions: readonly Exclusion[];
  vehicles: readonly string[];
  onChange: (exclusions: Exclusion[]) => void;
}

/** Who is left out, until when and why; ended ones stay until somebody takes them off, as the reason for past weeks. */
export function ExclusionsEditor({ exclusions, vehicles, onChange }: ExclusionsEditorProps) {
  return (
    <>
      {exclusions.length === 0 ? (
        <p>{t.rankingRules.none}</p>
      ) : (
        <List exclusions={exclusions} onRemove={(gone) => onChange(exclusions.filter((row) => row !== gone))} />
      )}
      <AddForm vehicles={vehicles} onAdd={(added) => onChange([...exclusions, added])} />
    </>
  );
}

const whatOf = ({ component }: Exclusion): string =>
  component === null ? t.rankingRules.whole : t.components[component].toLowerCase();

function List({ exclusions, onRemove }: { exclusions: readonly Exclusion[]; onRemove: (row: Exclusion) => void }) {
  const now = today(Date.now());
  return (
    <ul class="left-out">
      {exclusions.map((row) => (
        <li key={JSON.stringify(row)}>
          <span>
            <a class="vehicle-link" href={vehicleHref(row.vehicle)}>
              {row.vehicle}
            </a>
            , {whatOf(row)}
            <span class="second">
              {t.rankingRules.span(row.from, row.until)}
              {row.until < now && ` (${t.rankingRules.over})`}
            </span>
          </span>
          <span>{row.reason}</span>
          <button type="button" onClick={() => onRemove(row)}>
            {t.rankingRules.remove}
            <span class="only-read">
              : {row.vehicle}, {whatOf(row)}
            </span>
          </button>
        </li>
      ))}
    </ul>
  );
}

function AddForm({ vehicles, onAdd }: { vehicles: readonly string[]; onAdd: (added: Exclusion) => void }) {
  const empty: ExclusionDraft = { vehicle: '', component: '', reason: '', from: today(Date.now()), until: '' };
  const [draft, setDraft] = useState(empty);
  const names = useId();
  const change = (part: Partial<ExclusionDraft>) => setDraft({ ...draft, ...part });
  const ready = exclusionFrom(draft, vehicles);
  const unknown = draft.vehicle !== '' && !vehicles.includes(draft.vehicle);
  const backwards = draft.until !== '' && draft.until < draft.from;
  return (
    <form
      class="stack"
      aria-label={t.rankingRules.addTitle}
      onSubmit={(event) => {
        event.preventDefault();
        if (!ready) return;
        onAdd(ready);
        setDraft(empty);
      }}
    >
      <datalist id={names}>
        {vehicles.map((name) => (
          <option key={name} value={name} />
        ))}
      </datalist>
      <div class="row">
        <TextInput
          label={t.rankingRules.vehicle}
          value={draft.vehicle}
          list={names}
          error={unknown ? t.rankingRules.noSuchVehicle : null}
          onInput={(vehicle) => change({ vehicle })}
        />
        <Select
          label={t.rankingRules.what}
          value={draft.component}
          options={[
            { value: '', text: t.rankingRules.whole },
            ...COMPONENTS.map((name) => ({ value: name, text: t.components[name] })),
          ]}
          onChange={(value) => change({ component: value as Component | '' })}
        />
        <TextInput label={t.rankingRules.reason} value={draft.reason} onInput={(reason) => change({ reason })} />
      </div>
      <div class="row">
        <TextInput label={t.rankingRules.from} type="date" value={draft.from} onInput={(from) => change({ from })} />
        <TextInput
          label={t.rankingRules.until}
          type="date"
          value={draft.until}
          hint={t.rankingRules.heldHint}
          error={backwards ? t.rankingRules.untilBeforeFrom : null}
          onInput={(until) => change({ until })}
        />
        <button type="submit" disabled={!ready}>
          {t.rankingRules.add}
        </button>
      </div>
    </form>
  );
}
