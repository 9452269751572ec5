import type { AnswerEncoder } from './answer-encoder.js';
import { cellText } from './cell-text.js';
import type { ColumnBlock, ResultBlock, ResultColumn } from './result-columns.js';

const utf8 = new TextEncoder();

/** RFC 4180 with a header line, CRLF. A null is an empty cell, an empty text is `""`. */
export class CsvEncoder implements AnswerEncoder {
  start(columns: readonly ResultColumn[]): Uint8Array[] {
    return [utf8.encode(`${columns.map(({ name }) => quoted(name)).join(',')}\r\n`)];
  }

  block({ rows, columns }: ResultBlock): Uint8Array[] {
    const lines: string[] = [];
    for (let row = 0; row < rows; row++) lines.push(columns.map((block) => csvCell(block, row)).join(','));
    return [utf8.encode(`${lines.join('\r\n')}\r\n`)];
  }

  end(): Uint8Array[] {
    return [];
  }
}

function csvCell(block: ColumnBlock, row: number): string {
  const text = cellText(block, row);
  if (text === null) return '';
  return block.texts ? quoted(text) : text;
}

const quoted = (text: string): string =>
  text === '' || /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;

/** `{"columns":[…],"rows":[…],"rowCount":…,"truncated":…}`; rows are arrays, or objects by column name. */
export class JsonEncoder implements AnswerEncoder {
  private names: string[] = [];
  private any = false;

  constructor(private readonly shape: 'arrays' | 'objects') {}

  start(columns: readonly ResultColumn[]): Uint8Array[] {
    this.names = columns.map(({ name }) => JSON.stringify(name));
    return [utf8.encode(`{"columns":${JSON.stringify(columns)},"rows":[`)];
  }

  block({ rows, columns }: ResultBlock): Uint8Array[] {
    const lines: string[] = [];
    for (let row = 0; row < rows; row++) {
      const cells = columns.map((block) => jsonCell(block, row));
      lines.push(
        this.shape === 'arrays' ? `[${cells}]` : `{${cells.map((cell, index) => `${this.names[index]}:${cell}`)}}`,
      );
    }
    const joined = `${this.any ? ',\n' : '\n'}${lines.join(',\n')}`;
    this.any = true;
    return [utf8.encode(joined)];
  }

  end(outcome: { rows: number; truncated: boolean }): Uint8Array[] {
    return [utf8.encode(`\n],"rowCount":${outcome.rows},"truncated":${outcome.truncated}}\n`)];
  }
}

/** Whole numbers beyond what a double holds, and numbers that JSON does not have, are texts (RFC 8259, section 6). */
function jsonCell(block: ColumnBlock, row: number): string {
  const text = cellText(block, row);
  if (text === null) return 'null';
  switch (block.column.type) {
    case 'bool':
      return text;
    case 'int32':
      return text;
    case 'int64':
      return Number.isSafeInteger(Number(text)) ? text : `"${text}"`;
    case 'float':
    case 'double':
      return Number.isFinite(block.numbers![row]) ? text : `"${text}"`;
    default:
      return JSON.stringify(text);
  }
}
