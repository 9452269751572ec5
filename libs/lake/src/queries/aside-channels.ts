import { z } from 'zod';
import type { Lake } from '../lake.js';

/** A plain decimal number with an optional exponent; `nan`, `inf` and grouped digits are words. */
const NUMBER = String.raw`'[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?'`;

/** SQL of a cell's number in single precision, as samples have it; null where it is blank or holds words. */
export function cellNumberSql(decimal: '.' | ','): string {
  const text = decimal === ',' ? "replace(trim(text), ',', '.')" : 'trim(text)';
  return `CASE WHEN regexp_full_match(${text}, ${NUMBER}) THEN TRY_CAST(${text} AS FLOAT) END`;
}

const asideSql = (decimal: '.' | ',') => `
SELECT channel, count(*) FILTER (trim(coalesce(text, '')) = '')::DOUBLE AS blank, count(value)::DOUBLE AS numbers,
       count(*) FILTER (trim(coalesce(text, '')) <> '' AND value IS NULL)::DOUBLE AS words,
       arg_min(text, row_no) FILTER (trim(coalesce(text, '')) <> '' AND value IS NULL) AS example,
       min(value)::DOUBLE AS min, max(value)::DOUBLE AS max,
       epoch_ms(arg_min(time, {value: value, row_no: row_no}) FILTER (value IS NOT NULL)) AS min_at,
       epoch_ms(arg_max(time, {value: value, row_no: -row_no}) FILTER (value IS NOT NULL)) AS max_at
FROM (SELECT *, ${cellNumberSql(decimal)} AS value FROM unmapped WHERE upload_id = $upload)
GROUP BY channel ORDER BY channel`;

const asideRow = z.object({
  channel: z.string(),
  blank: z.number(),
  numbers: z.number(),
  words: z.number(),
  example: z.string().nullable(),
  min: z.number().nullable(),
  max: z.number().nullable(),
  min_at: z.number().nullable(),
  max_at: z.number().nullable(),
});

/**
 * Channels of one log that no signal is known for: how many of their cells (those that differ from the row before) hold
 * numbers, words or nothing, the lowest and highest number with its first instant, and the first words. Materialises.
 */
export const asideFacts = (lake: Lake, upload: string, decimal: '.' | ',') =>
  lake.query(asideSql(decimal), asideRow, { upload });
export type AsideFacts = Awaited<ReturnType<typeof asideFacts>>[number];
