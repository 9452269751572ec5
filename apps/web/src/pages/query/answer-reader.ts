import type { ResultColumnDocument } from './shapes.js';

/** A value of a JSON answer; whole numbers beyond what a double holds come as texts. */
export type Cell = string | number | boolean | null;

export interface AnswerSoFar {
  columns: ResultColumnDocument[];
  rows: Cell[][];
}

export interface AnswerEnd {
  rowCount: number;
  truncated: boolean;
}

/**
 * Reads an answer while it arrives. The service writes a row a line, so a million rows never have to be one JSON text.
 * @param onRows called after every part that brought rows. @returns how it ended; null when the stream was cut
 */
export async function readAnswer(
  stream: ReadableStream<Uint8Array>,
  answer: AnswerSoFar,
  onRows: () => void,
): Promise<AnswerEnd | null> {
  const reader = stream.pipeThrough(new TextDecoderStream() as ReadableWritablePair<string, Uint8Array>).getReader();
  let rest = '';
  let end: AnswerEnd | null = null;
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return end ?? lastLine(rest);
    rest += value;
    const lines = rest.split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) end = takeLine(line, answer) ?? end;
    onRows();
  }
}

const lastLine = (line: string): AnswerEnd | null => (line.startsWith(']') ? endOf(line) : null);

/** `{"columns":[…],"rows":[`, then `[…],` a row, then `],"rowCount":…}`. */
function takeLine(line: string, answer: AnswerSoFar): AnswerEnd | null {
  if (line.startsWith('{')) answer.columns = (JSON.parse(`${line}]}`) as AnswerSoFar).columns;
  else if (line.startsWith('[')) answer.rows.push(JSON.parse(line.endsWith(',') ? line.slice(0, -1) : line) as Cell[]);
  else if (line.startsWith(']')) return endOf(line);
  return null;
}

const endOf = (line: string): AnswerEnd => JSON.parse(`{"rows":[${line}`) as AnswerEnd;
