export interface Column {
  title: string;
  align?: 'left' | 'right';
}

/**
 * Lines of a table with aligned columns, two spaces apart; a column that is blank in every row is left out.
 * @param rows cells as text; missing cells are blank
 */
export function tableLines(columns: readonly Column[], rows: readonly (readonly string[])[]): string[] {
  const used = columns
    .map((column, index) => ({ column, index }))
    .filter(({ index }) => rows.some((row) => (row[index] ?? '') !== ''));
  const widths = used.map(({ column, index }) =>
    Math.max(displayWidth(column.title), ...rows.map((row) => displayWidth(row[index] ?? ''))),
  );
  const line = (cells: readonly string[]) =>
    cells
      .map((cell, place) => pad(cell, widths[place] ?? 0, used[place]?.column.align ?? 'left'))
      .join('  ')
      .trimEnd();
  const head = line(used.map(({ column }) => column.title));
  const rule = widths.map((width) => '-'.repeat(width)).join('  ');
  return [head, rule, ...rows.map((row) => line(used.map(({ index }) => row[index] ?? '')))];
}

function pad(text: string, width: number, align: 'left' | 'right'): string {
  const fill = ' '.repeat(Math.max(0, width - displayWidth(text)));
  return align === 'right' ? fill + text : text + fill;
}

/** Columns a text takes on screen: combining marks take none. Wide scripts do not occur in our output. */
const displayWidth = (text: string): number => Array.from(text.replaceAll(/\p{Mn}/gu, '')).length;

/** Breaks a sentence at blanks so that no line is longer than `width`; it keeps its own indent, later lines get `indent`. */
export function wrapLines(text: string, width: number, indent = ''): string[] {
  const lines: string[] = [];
  const start = /^ */.exec(text)?.[0] ?? '';
  let line = '';
  for (const word of text.trim().split(' ')) {
    if (line && displayWidth(line) + 1 + displayWidth(word) > width) {
      lines.push(line);
      line = indent + word;
    } else line = line ? `${line} ${word}` : start + word;
  }
  if (line) lines.push(line);
  return lines;
}
