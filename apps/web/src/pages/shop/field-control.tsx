import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';
import { Field, TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import {
  type ChoiceName,
  type DraftRow,
  type DraftValue,
  type FieldProblem,
  type FieldSpec,
  listOf,
  messageAt,
  numberOf,
  rowsOf,
  textOf,
} from './fields.js';
import { ListEditor } from './list-editor.js';

export type Choices = Record<ChoiceName, readonly { value: string; text: string }[]>;

export interface FieldsProps {
  specs: readonly FieldSpec[];
  row: DraftRow;
  /** Path of the row inside the document, '' or with a dot at its end. */
  path: string;
  choices: Choices;
  problems: readonly FieldProblem[];
  onChange: (row: DraftRow) => void;
}

/** All fields of one row: short ones side by side, groups and lists below. */
export function Fields({ specs, ...rest }: FieldsProps) {
  const isLong = ({ kind }: FieldSpec) => kind === 'rows' || kind === 'group' || kind === 'checks';
  const short = specs.filter((spec) => !isLong(spec));
  const long = specs.filter(isLong);
  return (
    <>
      {short.length > 0 && (
        <div class="row shop-fields">
          {short.map((spec) => (
            <Control key={spec.key} spec={spec} {...rest} />
          ))}
        </div>
      )}
      {long.map((spec) => (
        <Control key={spec.key} spec={spec} {...rest} />
      ))}
    </>
  );
}

type ControlProps = Omit<FieldsProps, 'specs'> & { spec: FieldSpec };

function Control({ spec, row, path, choices, problems, onChange }: ControlProps) {
  const at = `${path}${spec.key}`;
  const change = (value: DraftValue) => onChange({ ...row, [spec.key]: value });
  const inner = { choices, problems };
  switch (spec.kind) {
    case 'id':
      return null;
    case 'rows':
      return <ListEditor spec={spec} rows={rowsOf(row, spec.key)} path={at} {...inner} onChange={change} />;
    case 'group':
      return (
        <Group label={spec.label} hint={spec.hint}>
          <Fields
            {...{ specs: spec.of, row: rowsOf(row, spec.key)[0] ?? {}, path: `${at}.`, ...inner }}
            onChange={(next) => change([next])}
          />
        </Group>
      );
    case 'checks':
      return <Checks spec={spec} chosen={listOf(row, spec.key)} onChange={change} />;
    case 'choice':
      return <Choice {...{ spec, choices, error: messageAt(problems, at), value: textOf(row, spec.key), change }} />;
    default:
      return <Typed {...{ spec, error: messageAt(problems, at), value: textOf(row, spec.key), change }} />;
  }
}

const Group = ({ label, hint, children }: { label: string; hint: string | undefined; children: ComponentChildren }) => (
  <fieldset class="shop-group">
    <legend>{label}</legend>
    {hint && <p class="quiet">{hint}</p>}
    {children}
  </fieldset>
);

interface OneProps<K extends FieldSpec['kind']> {
  spec: Extract<FieldSpec, { kind: K }>;
  value: string;
  error: string | null;
  change: (value: string) => void;
}

const INPUTS = { text: 'text', words: 'text', number: 'number', date: 'date', time: 'time' } as const;

function Typed({ spec, value, error, change }: OneProps<keyof typeof INPUTS>) {
  const number = spec.kind === 'number' ? numberOf(value) : Number.NaN;
  const note = spec.kind === 'number' && spec.note && Number.isFinite(number) ? spec.note(number) : undefined;
  return (
    <div class={spec.kind === 'words' || (spec.kind === 'text' && spec.wide) ? 'wide' : undefined}>
      <TextInput
        label={spec.label}
        hint={note ?? spec.hint}
        error={error}
        type={INPUTS[spec.kind]}
        {...(spec.kind === 'number' ? { step: 'any' } : {})}
        value={value}
        onInput={change}
      />
    </div>
  );
}

/** A value that is not among the choices any more stays, and is named as such. */
function Choice({ spec, value, error, change, choices }: OneProps<'choice'> & { choices: Choices }) {
  const known = choices[spec.of];
  const stray = value !== '' && !known.some((choice) => choice.value === value);
  return (
    <div>
      <Field label={spec.label} hint={spec.hint} error={error}>
        {(ids) => (
          <select {...ids} value={value} onChange={(event) => change(event.currentTarget.value)}>
            {(spec.none || value === '') && <option value="">{spec.none ?? t.shop.choose}</option>}
            {stray && <option value={value}>{t.shop.notKnown(value)}</option>}
            {known.map((choice) => (
              <option key={choice.value} value={choice.value}>
                {choice.text}
              </option>
            ))}
          </select>
        )}
      </Field>
    </div>
  );
}

interface ChecksProps {
  spec: Extract<FieldSpec, { kind: 'checks' }>;
  chosen: readonly string[];
  onChange: (chosen: readonly string[]) => void;
}

function Checks({ spec, chosen, onChange }: ChecksProps) {
  const id = useId();
  return (
    <fieldset class="choice shop-checks" id={id}>
      <legend>{spec.label}</legend>
      {spec.options.map(({ value, text }) => (
        <label key={value}>
          <input
            type="checkbox"
            checked={chosen.includes(value)}
            onChange={(event) =>
              onChange(event.currentTarget.checked ? [...chosen, value] : chosen.filter((other) => other !== value))
            }
          />
          {text}
        </label>
      ))}
    </fieldset>
  );
}
