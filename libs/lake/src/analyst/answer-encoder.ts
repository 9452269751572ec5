import type { ResultBlock, ResultColumn } from './result-columns.js';

/** Turns an answer into the bytes of one format, block by block. */
export interface AnswerEncoder {
  start(columns: readonly ResultColumn[]): Uint8Array[];
  block(block: ResultBlock): Uint8Array[];
  end(outcome: { rows: number; truncated: boolean }): Uint8Array[];
}
