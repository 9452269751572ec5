import { readFileSync } from 'node:fs';

/** Rows of a table of hand-made vectors in test/fixtures/standards; the file's head names the published source. */
export const standardsTable = (name: string): string[][] =>
  readFileSync(new URL(`../../../fixtures/standards/${name}.tsv`, import.meta.url), 'utf8')
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#'))
    .map((line) => line.split('\t'));

export const bytesOf = (hex: string): Uint8Array => Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'));
