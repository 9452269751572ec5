// `npm run reference`: writes docs/reference from the tables of libs/decode.
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { referencePages } from './pages.js';

const directory = join(import.meta.dirname, '..', '..', 'reference');
mkdirSync(directory, { recursive: true });
for (const [name, content] of Object.entries(referencePages())) {
  writeFileSync(join(directory, name), content);
  process.stdout.write(`docs/reference/${name}\n`);
}
