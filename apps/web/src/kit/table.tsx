import type { ComponentChildren } from 'preact';
import { t } from '../text/text.js';
import { useOwnWidth } from './media.js';
import { useVisibleRows } from './visible-rows.js';

export interface Column<R> {
  id: string;
  head: string;
  cell: (row: R) => ComponentChildren;
  /** CSS width; the first column without one takes what is left. */
  width?: string;
  align?: 'end';
  /** Least width of the table at which the column is shown, in px; absent = always. */
  from?: number;
  /** Present = the head sorts. */
  sortable?: boolean;
}

interface TableProps<R> {
  /** Says what the table holds; read out, and shown unless `hideCaption`. */
  caption: string;
  hideCaption?: boolean;
  columns: readonly Column<R>[];
  rows: readonly R[];
  rowKey: (row: R) => string;
  rowHeight?: number;
  sort?: { by: string; down: boolean };
  onSort?: (by: string) => void;
  /** Key of the row that is shown elsewhere on the page. */
  current?: string | null;
}

/** A table of any length: only rows in the window are in the document (all of them while printing). */
export function Table<R>(props: TableProps<R>) {
  const { caption, rows, rowKey, rowHeight = 48, sort, onSort, current = null } = props;
  const { box, width } = useOwnWidth<HTMLTableElement>();
  const columns = props.columns.filter((column) => width >= (column.from ?? 0));
  const { body, first, last } = useVisibleRows(rows.length, rowHeight);
  return (
    <table ref={box} class="list" aria-rowcount={rows.length + 1} style={{ '--row': `${rowHeight}px` }}>
      <caption class={props.hideCaption ? 'only-read' : undefined}>{caption}</caption>
      <colgroup>
        {columns.map((column) => (
          <col key={column.id} style={column.width ? { width: column.width } : undefined} />
        ))}
      </colgroup>
      <thead>
        <tr aria-rowindex={1}>
          {columns.map((column) => (
            <Head key={column.id} column={column} sort={sort} onSort={onSort} />
          ))}
        </tr>
      </thead>
      <tbody ref={body}>
        <Spacer height={first * rowHeight} span={columns.length} />
        {rows.slice(first, last).map((row, index) => {
          const key = rowKey(row);
          return (
            <tr key={key} aria-rowindex={first + index + 2} class={key === current ? 'current' : undefined}>
              {columns.map((column) => (
                <td key={column.id} class={column.align}>
                  {column.cell(row)}
                </td>
              ))}
            </tr>
          );
        })}
        <Spacer height={(rows.length - last) * rowHeight} span={columns.length} />
      </tbody>
    </table>
  );
}

function Head<R>({ column, sort, onSort }: { column: Column<R> } & Pick<TableProps<R>, 'sort' | 'onSort'>) {
  const sorted = sort?.by === column.id;
  const order = sorted ? (sort.down ? 'descending' : 'ascending') : undefined;
  if (!column.sortable || !onSort)
    return (
      <th scope="col" class={column.align}>
        {column.head}
      </th>
    );
  return (
    <th scope="col" class={column.align} aria-sort={order}>
      <button type="button" class="plain sort" title={t.actions.sortBy(column.head)} onClick={() => onSort(column.id)}>
        {column.head}
        <span aria-hidden="true">{sorted ? (sort.down ? '\u00A0▾' : '\u00A0▴') : ''}</span>
      </button>
    </th>
  );
}

const Spacer = ({ height, span }: { height: number; span: number }) =>
  height > 0 ? (
    <tr class="spacer">
      <td colSpan={span} style={{ height: `${height}px` }} />
    </tr>
  ) : null;
