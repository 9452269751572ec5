import type { CsvDialect } from '../log/types.js';
import { CSV_LIMITS } from './limits.js';

export interface EncodingFound {
  encoding: CsvDialect['encoding'];
  bomBytes: number;
  why: string;
}

export type EncodingResult = { ok: true; found: EncodingFound } | { ok: false; detail: string };

/** First bytes of files that are no text, so that the message can name them. */
const MAGIC: readonly { bytes: readonly number[]; what: string }[] = [
  { bytes: [0x1f, 0x8b], what: 'a gzip file' },
  { bytes: [0x50, 0x4b, 0x03, 0x04], what: 'a zip archive or a spreadsheet file' },
  { bytes: [0x28, 0xb5, 0x2f, 0xfd], what: 'a zstd file' },
  { bytes: [0x50, 0x41, 0x52, 0x31], what: 'a Parquet file' },
  { bytes: [0xd0, 0xcf, 0x11, 0xe0], what: 'an old spreadsheet file' },
  { bytes: [0x25, 0x50, 0x44, 0x46], what: 'a PDF' },
  { bytes: [0x89, 0x50, 0x4e, 0x47], what: 'a PNG image' },
  { bytes: [0xff, 0xd8, 0xff], what: 'a JPEG image' },
  { bytes: [0x4d, 0x44, 0x46, 0x20], what: 'an MDF measurement file' },
  { bytes: [0x53, 0x51, 0x4c, 0x69, 0x74, 0x65], what: 'an SQLite database' },
];

/** Encoding of a head of bytes, with the reason, or why it is no text. */
export function detectEncoding(head: Uint8Array): EncodingResult {
  const magic = MAGIC.find(({ bytes }) => bytes.every((byte, index) => head[index] === byte));
  if (magic) return { ok: false, detail: `The bytes are ${magic.what}, not a text log.` };
  const marked = byteOrderMark(head);
  if (marked) return { ok: true, found: marked };
  const wide = utf16WithoutMark(head);
  if (wide) return { ok: true, found: wide };
  const share = controlShare(trimPadding(head));
  if (share > CSV_LIMITS.maxControlShare) {
    const percent = (share * 100).toFixed(1);
    const limit = CSV_LIMITS.maxControlShare * 100;
    return {
      ok: false,
      detail: `${percent} % of the first ${head.length} bytes are control characters; text has under ${limit} %.`,
    };
  }
  return { ok: true, found: narrow(head) };
}

function byteOrderMark(head: Uint8Array): EncodingFound | null {
  if (head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf) {
    return { encoding: 'utf-8', bomBytes: 3, why: 'byte order mark EF BB BF' };
  }
  if (head[0] === 0xff && head[1] === 0xfe) return { encoding: 'utf-16le', bomBytes: 2, why: 'byte order mark FF FE' };
  if (head[0] === 0xfe && head[1] === 0xff) return { encoding: 'utf-16be', bomBytes: 2, why: 'byte order mark FE FF' };
  return null;
}

/** ASCII in UTF-16 has a zero in every other byte; a log is mostly digits. */
function utf16WithoutMark(head: Uint8Array): EncodingFound | null {
  const pairs = Math.min(head.length >> 1, 2048);
  if (pairs < 4) return null;
  let evenZeros = 0;
  let oddZeros = 0;
  for (let pair = 0; pair < pairs; pair++) {
    if (head[2 * pair] === 0) evenZeros++;
    if (head[2 * pair + 1] === 0) oddZeros++;
  }
  if (oddZeros > pairs * 0.7 && evenZeros < pairs * 0.05) {
    return { encoding: 'utf-16le', bomBytes: 0, why: 'every second byte is zero, the odd ones' };
  }
  if (evenZeros > pairs * 0.7 && oddZeros < pairs * 0.05) {
    return { encoding: 'utf-16be', bomBytes: 0, why: 'every second byte is zero, the even ones' };
  }
  return null;
}

/** A card that lost power leaves zeros behind the last row. */
function trimPadding(head: Uint8Array): Uint8Array {
  let end = head.length;
  while (end > 0 && head[end - 1] === 0) end--;
  return end > 0 ? head.subarray(0, end) : head;
}

/** Zeros in a row that are room set aside on the card and never written, as after a loss of power. */
const PADDING_BYTES = 16;

/** Share of control characters among the bytes that are no padding. */
function controlShare(bytes: Uint8Array): number {
  let [control, padding, zeros] = [0, 0, 0];
  for (const byte of bytes) {
    zeros = byte === 0 ? zeros + 1 : 0;
    const allowed = byte === 9 || byte === 10 || byte === 12 || byte === 13 || byte === 26;
    if (byte < 32 && !allowed) control++;
    if (zeros >= PADDING_BYTES) padding += zeros === PADDING_BYTES ? PADDING_BYTES : 1;
  }
  return padding === bytes.length ? 1 : (control - padding) / (bytes.length - padding);
}

function narrow(head: Uint8Array): EncodingFound {
  if (head.every((byte) => byte < 0x80)) return { encoding: 'utf-8', bomBytes: 0, why: 'only ASCII in the head' };
  try {
    // `stream` lets the head end inside a character.
    new TextDecoder('utf-8', { fatal: true }).decode(head, { stream: true });
    return { encoding: 'utf-8', bomBytes: 0, why: 'valid UTF-8' };
  } catch {
    return {
      encoding: 'windows-1252',
      bomBytes: 0,
      why: 'not valid UTF-8; read as windows-1252, which includes Latin-1',
    };
  }
}
