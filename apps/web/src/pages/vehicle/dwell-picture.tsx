import { useMemo } from 'preact/hooks';
import { StageBadge } from '../../kit/stage.js';
import { inUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { weekDays, weekNumber } from '../ranking/week-names.js';
import { type DwellRow, dwellRows, shadeOf } from './dwell-rows.js';
import { Wide } from './section.js';
import { minutesText } from './temperatures.js';
import type { ShownWeeks, SignalWeeks } from './week-facts.js';

interface DwellPictureProps {
  signal: SignalWeeks;
  shown: ShownWeeks;
  unit: string;
}

/** Ranges by weeks as a table whose cells are shaded: the picture and its figures are the same thing. */
export function DwellPicture({ signal, shown, unit }: DwellPictureProps) {
  const rows = useMemo(
    () => dwellRows(signal, { unit, convert: (value) => inUnit(value, signal.unit, unit) }, shown.first),
    [signal, unit, shown.first],
  );
  const caption = t.vehicle.dwell.table(signal.label);
  return (
    <>
      <Wide label={caption}>
        <table class="dwell">
          <caption class="only-read">{caption}</caption>
          <thead>
            <tr>
              <th scope="col">{t.vehicle.dwell.range}</th>
              {shown.names.map((week) => (
                <th key={week} scope="col" title={weekDays(week)}>
                  {weekNumber(week)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.from} class={row.stage ? 'staged' : undefined}>
                <th scope="row">
                  {row.stage && <StageBadge stage={row.stage} />} <span class="number">{rangeText(row, unit)}</span>
                </th>
                {row.seconds.map((seconds, week) => (
                  <td key={shown.names[week]} class={`shade-${shadeOf(seconds)}`}>
                    {minutesText(seconds)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <p class="shades">
        <strong>{t.vehicle.dwell.legendTitle}:</strong>
        {t.vehicle.dwell.legend.map((text, index) => (
          <span key={text}>
            <span class={`swatch shade-${index}`} aria-hidden="true" /> {text}
          </span>
        ))}
      </p>
    </>
  );
}

function rangeText({ from, to }: DwellRow, unit: string): string {
  const text = (value: number) => `${Number(value.toFixed(1)).toLocaleString(t.locale)}`;
  const label = unitLabel(unit);
  if (from === null) return to === null ? '' : t.vehicle.dwell.below(`${text(to)} ${label}`);
  if (to === null) return t.vehicle.dwell.from(`${text(from)} ${label}`);
  return t.vehicle.dwell.between(text(from), `${text(to)} ${label}`);
}
