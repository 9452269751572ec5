import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { referencePages } from '../../../docs/generator/pages.js';

const folder = new URL('../../../docs/reference/', import.meta.url);

describe('docs/reference', () => {
  it('is what `npm run reference` writes from the tables', () => {
    const pages = referencePages();
    expect(readdirSync(folder).sort()).toEqual(Object.keys(pages).sort());
    for (const [name, content] of Object.entries(pages)) {
      expect(readFileSync(new URL(name, folder), 'utf8') === content, `${name}: run npm run reference`).toBe(true);
    }
  });
});
