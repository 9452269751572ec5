import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../../text/text.js';
import type { AnswerSoFar, Cell } from './answer-reader.js';

const ROW_PX = 28;
const SPARE_ROWS = 20;
/** Browsers place nothing beyond about 33 million pixels (Chromium and Firefox): a longer answer scrolls in larger steps. */
const MOST_PX = 8_000_000;
const NUMBERS = new Set(['int32', 'int64', 'float', 'double']);
const WIDEST_COLUMNS = 200;

/** The answer as a grid of its own scrolling; only rows in sight are in the document, however many there are. */
export function ResultGrid({ answer, version }: { answer: AnswerSoFar; version: number }) {
  const box = useRef<HTMLDivElement>(null);
  const [top, setTop] = useState(0);
  const [height, setHeight] = useState(480);
  const { rows, columns } = answer;
  useEffect(() => setHeight(box.current?.clientHeight ?? 480), [version === 0]);
  const shown = columns.slice(0, WIDEST_COLUMNS);
  const full = rows.length * ROW_PX;
  const length = Math.min(full, MOST_PX);
  const fits = Math.ceil(height / ROW_PX);
  // Share of the way down, so that the last row is reached exactly also when the length is capped.
  const share = length <= height ? 0 : top / (length - height);
  const first = Math.max(0, Math.min(rows.length - fits, Math.round(share * (rows.length - fits))));
  const from = Math.max(0, first - SPARE_ROWS);
  const to = Math.min(rows.length, first + fits + SPARE_ROWS);
  const offset = top - (first - from) * ROW_PX;
  return (
    <section
      ref={box}
      class="grid-box"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls must be reachable by keyboard (WCAG 2.1.1)
      tabIndex={0}
      aria-label={t.query.grid(rows.length)}
      onScroll={(event) => setTop(event.currentTarget.scrollTop)}
    >
      <div style={{ height: `${length + 2 * ROW_PX}px` }}>
        <table class="grid" aria-rowcount={rows.length + 1}>
          <thead>
            <tr aria-rowindex={1}>
              {shown.map((column) => (
                <th
                  key={column.name}
                  scope="col"
                  class={NUMBERS.has(column.type) ? 'end' : undefined}
                  title={column.duckType}
                >
                  {column.name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            <tr class="spacer">
              <td colSpan={shown.length} style={{ height: `${Math.max(0, offset)}px` }} />
            </tr>
            {rows.slice(from, to).map((row, index) => (
              <tr key={from + index} aria-rowindex={from + index + 2}>
                {shown.map((column, place) => (
                  <td key={column.name} class={NUMBERS.has(column.type) ? 'end' : undefined}>
                    {cellText(row[place] ?? null)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

const cellText = (cell: Cell) => (cell === null ? <span class="quiet">{t.query.nothing}</span> : String(cell));
