import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';

interface FieldProps {
  label: string;
  hint?: string | undefined;
  error?: string | null | undefined;
  /** Gets what the control needs to belong to label, hint and error. */
  children: (ids: { id: string; 'aria-describedby': string | undefined; 'aria-invalid': boolean }) => ComponentChildren;
}

/** A labelled control; hint and error are tied to it. */
export function Field({ label, hint, error, children }: FieldProps) {
  const id = useId();
  const described = [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(' ');
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {children({ id, 'aria-describedby': described || undefined, 'aria-invalid': Boolean(error) })}
      {hint && (
        <small id={`${id}-hint`} class="quiet">
          {hint}
        </small>
      )}
      {error && (
        <small id={`${id}-error`} class="field-error">
          <span aria-hidden="true">× </span>
          {error}
        </small>
      )}
    </div>
  );
}

interface SelectProps {
  label: string;
  value: string;
  options: readonly { value: string; text: string }[];
  onChange: (value: string) => void;
  hint?: string;
}

export const Select = ({ label, value, options, onChange, hint }: SelectProps) => (
  <Field label={label} hint={hint}>
    {(ids) => (
      <select {...ids} value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        {options.map((option) => (
          <option key={option.value} value={option.value}>
            {option.text}
          </option>
        ))}
      </select>
    )}
  </Field>
);

interface TextInputProps {
  label: string;
  value: string;
  onInput: (value: string) => void;
  hint?: string | undefined;
  error?: string | null | undefined;
  type?: 'text' | 'search' | 'number' | 'datetime-local' | 'date' | 'time';
  step?: string;
  list?: string;
}

export const TextInput = ({ label, value, onInput, hint, error, type = 'text', ...rest }: TextInputProps) => (
  <Field label={label} hint={hint} error={error}>
    {(ids) => (
      <input
        {...ids}
        {...rest}
        type={type}
        value={value}
        autoComplete="off"
        onInput={(event) => onInput(event.currentTarget.value)}
      />
    )}
  </Field>
);
