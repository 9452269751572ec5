import { t } from '../../text/text.js';
import type { Choices } from './field-control.js';
import { type DraftRow, type FieldProblem, messageAt, textOf } from './fields.js';
import { indexOf, rowOf, withDay } from './week-rows.js';

const WEEK = ['1', '2', '3', '4', '5', '6', '7'];

interface HoursEditorProps {
  rows: readonly DraftRow[];
  choices: Choices;
  problems: readonly FieldProblem[];
  onChange: (rows: readonly DraftRow[]) => void;
}

/** One week for each depot; a day with both fields empty has no row and is closed. */
export function HoursEditor({ rows, choices, problems, onChange }: HoursEditorProps) {
  const known = choices.depots.map(({ value }) => value);
  const depots = [...new Set([...known, ...rows.map((row) => textOf(row, 'depot'))])];
  return (
    <div class="shop-weeks">
      {depots.map((depot) => (
        <Week
          key={depot}
          depot={depot}
          name={choices.depots.find(({ value }) => value === depot)?.text ?? t.shop.notKnown(depot)}
          {...{ rows, problems, onChange }}
        />
      ))}
    </div>
  );
}

interface WeekProps extends Omit<HoursEditorProps, 'choices'> {
  depot: string;
  name: string;
}

function Week({ depot, name, rows, problems, onChange }: WeekProps) {
  const words = t.shop.hours;
  const monday = rowOf(rows, depot, '1');
  return (
    <section class="card" aria-label={words.of(name)}>
      <table class="facts tight">
        <caption>{name}</caption>
        <thead>
          <tr>
            {[words.day, words.opens, words.closes].map((head) => (
              <th key={head} scope="col">
                {head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {WEEK.map((weekday) => (
            <Day
              key={weekday}
              label={t.shop.weekdays[Number(weekday) - 1] ?? weekday}
              name={name}
              row={rowOf(rows, depot, weekday)}
              path={`hours.${indexOf(rows, depot, weekday)}.`}
              problems={problems}
              onChange={(times) => onChange(withDay(rows, { depot, weekday, ...times }))}
            />
          ))}
        </tbody>
      </table>
      <button
        type="button"
        class="small"
        onClick={() =>
          onChange(['2', '3', '4', '5'].reduce((done, weekday) => withDay(done, { ...monday, depot, weekday }), rows))
        }
      >
        {words.copy}
        <span class="only-read">: {name}</span>
      </button>
    </section>
  );
}

interface DayProps {
  label: string;
  name: string;
  row: DraftRow | undefined;
  path: string;
  problems: readonly FieldProblem[];
  onChange: (times: { from: string; to: string }) => void;
}

function Day({ label, name, row, path, problems, onChange }: DayProps) {
  const words = t.shop.hours;
  const times = { from: textOf(row ?? {}, 'from'), to: textOf(row ?? {}, 'to') };
  const errors = row ? ['from', 'to', 'weekday'].flatMap((key) => messageAt(problems, `${path}${key}`) ?? []) : [];
  const errorId = `${path}error`;
  return (
    <tr>
      <th scope="row">{label}</th>
      {(['from', 'to'] as const).map((key) => (
        <td key={key}>
          <input
            type="time"
            aria-label={words.at(key === 'from' ? words.opens : words.closes, label, name)}
            aria-invalid={row !== undefined && messageAt(problems, `${path}${key}`) !== null}
            aria-describedby={errors.length > 0 ? errorId : undefined}
            value={times[key]}
            onInput={(event) => onChange({ ...times, [key]: event.currentTarget.value })}
          />
          {key === 'to' && errors.length > 0 && (
            <small id={errorId} class="field-error block">
              <span aria-hidden="true">× </span>
              {errors.join(' ')}
            </small>
          )}
        </td>
      ))}
    </tr>
  );
}
