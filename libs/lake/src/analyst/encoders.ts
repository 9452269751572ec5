import type { QueryFormat } from '@tallybay/contracts';
import type { AnswerEncoder } from './answer-encoder.js';
import { ParquetEncoder } from './result-parquet.js';
import { CsvEncoder, JsonEncoder } from './result-text.js';

/** Rows that are collected before they are encoded: small for what people watch, large for files. */
export const BLOCK_ROWS: Record<QueryFormat, number> = { json: 2_048, csv: 8_192, arrow: 16_384, parquet: 65_536 };

/** The Arrow library is loaded when somebody asks for it: it takes longer to load than most answers take. */
export async function encoderFor(format: QueryFormat, shape: 'arrays' | 'objects'): Promise<AnswerEncoder> {
  switch (format) {
    case 'json':
      return new JsonEncoder(shape);
    case 'csv':
      return new CsvEncoder();
    case 'arrow':
      return new (await import('./result-arrow.js')).ArrowEncoder();
    case 'parquet':
      return new ParquetEncoder();
  }
}
