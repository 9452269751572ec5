import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../../text/text.js';
import { type Choices, Fields } from './field-control.js';
import { type DraftRow, emptyRow, type FieldProblem, type FieldSpec } from './fields.js';

interface ListEditorProps {
  spec: Extract<FieldSpec, { kind: 'rows' }>;
  rows: readonly DraftRow[];
  path: string;
  choices: Choices;
  problems: readonly FieldProblem[];
  onChange: (rows: readonly DraftRow[]) => void;
}

/** Rows of one kind: changed in place, taken away, added at the end. The focus goes to what was added, or where it was. */
export function ListEditor({ spec, rows, path, choices, problems, onChange }: ListEditorProps) {
  const list = useRef<HTMLFieldSetElement>(null);
  const adder = useRef<HTMLButtonElement>(null);
  const [added, setAdded] = useState(-1);
  useEffect(() => {
    if (added < 0) return;
    list.current?.querySelectorAll(':scope > .shop-row')[added]?.querySelector<HTMLElement>('input, select')?.focus();
  }, [added]);
  // Rows have no name of their own while they are typed: after one is gone, all are drawn anew.
  const [removals, setRemovals] = useState(0);
  const remove = (index: number) => {
    setAdded(-1);
    setRemovals(removals + 1);
    onChange(rows.toSpliced(index, 1));
    adder.current?.focus();
  };
  return (
    <fieldset class="shop-group" ref={list}>
      <legend>{spec.label}</legend>
      {spec.hint && <p class="quiet">{spec.hint}</p>}
      {rows.length === 0 && <p class="quiet">{t.shop.none}</p>}
      {rows.map((row, index) => (
        <Row
          key={`${removals} ${index}`}
          {...{ spec, row, index, choices, problems, path: `${path}.${index}.`, fresh: index === added }}
          onChange={(next) => onChange(rows.with(index, next))}
          onRemove={() => remove(index)}
        />
      ))}
      <button
        type="button"
        ref={adder}
        onClick={() => {
          onChange([...rows, emptyRow(spec.of)]);
          setAdded(rows.length);
        }}
      >
        {spec.words.add}
      </button>
    </fieldset>
  );
}

interface RowProps extends Omit<ListEditorProps, 'rows' | 'onChange'> {
  row: DraftRow;
  index: number;
  fresh: boolean;
  onChange: (row: DraftRow) => void;
  onRemove: () => void;
}

function Row({ spec, row, index, fresh, problems, onRemove, ...rest }: RowProps) {
  const { one, folded } = spec.words;
  const wrong = problems.some(({ field }) => field.startsWith(rest.path));
  const [open, setOpen] = useState(fresh);
  const name = `${one} ${index + 1}`;
  const shown = folded?.(row);
  const body = <Fields specs={spec.of} row={row} problems={problems} {...rest} />;
  const away = (
    <button type="button" class="small" onClick={onRemove}>
      {shown ? t.shop.removeOne(one) : t.shop.remove}
      <span class="only-read">: {shown?.title || name}</span>
    </button>
  );
  if (!shown)
    return (
      // biome-ignore lint/a11y/useSemanticElements: a fieldset takes no grid in every browser
      <div class="shop-row shop-line" role="group" aria-label={name}>
        {body}
        {away}
      </div>
    );
  return (
    <details class="shop-row" open={open || fresh || wrong} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <strong>{shown.title || name}</strong> <span class="quiet">{shown.more}</span>
      </summary>
      {(open || fresh || wrong) && (
        <div class="shop-body">
          {body}
          {away}
        </div>
      )}
    </details>
  );
}
