/** One record of the head as text: its cells, and the 1-based file line it starts on. */
export interface TextRow {
  line: number;
  cells: string[];
  /** The record as written, without its line break. */
  text: string;
}

/**
 * Cuts text into records by RFC 4180 section 2: quotes around a cell, doubled inside, may hide delimiters and line
 * breaks. Lenient where recorders are: LF, CRLF and CR end a record, a quote inside an unquoted cell is a character.
 * A last record without a line break counts, unless `dropLast`.
 */
export function splitRows(
  text: string,
  delimiter: string,
  options: { dropLast?: boolean; maxRows?: number } = {},
): TextRow[] {
  const rows: TextRow[] = [];
  let at = 0;
  let line = 1;
  while (at < text.length && rows.length < (options.maxRows ?? Number.POSITIVE_INFINITY)) {
    const row = splitRow(text, at, delimiter);
    if (row.next > text.length && options.dropLast) break;
    rows.push({ line, cells: row.cells, text: text.slice(at, row.end) });
    line += row.lines;
    at = row.next;
  }
  return rows;
}

/** `end` is the index of the line break, `next` that of the following record; past the text's end if there was none. */
function splitRow(text: string, start: number, delimiter: string) {
  const cells: string[] = [];
  let cell = '';
  let at = start;
  let lines = 1;
  let atStart = true;
  for (; at < text.length; at++) {
    const char = text[at] as string;
    if (atStart && char === '"') {
      const quoted = readQuoted(text, at);
      cell += quoted.value;
      lines += quoted.breaks;
      at = quoted.last;
      atStart = false;
    } else if (char === delimiter) {
      cells.push(cell);
      cell = '';
      atStart = true;
    } else if (char === '\n' || char === '\r') {
      cells.push(cell);
      const wide = char === '\r' && text[at + 1] === '\n';
      return { cells, end: at, next: at + (wide ? 2 : 1), lines };
    } else {
      cell += char;
      atStart = false;
    }
  }
  cells.push(cell);
  return { cells, end: text.length, next: text.length + 1, lines };
}

function readQuoted(text: string, open: number) {
  let value = '';
  let breaks = 0;
  let at = open + 1;
  for (; at < text.length; at++) {
    const char = text[at] as string;
    if (char === '"') {
      if (text[at + 1] !== '"') break;
      at++;
    } else if (char === '\n' || (char === '\r' && text[at + 1] !== '\n')) breaks++;
    value += char;
  }
  return { value, breaks, last: at };
}
