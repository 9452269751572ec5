import { readFileSync } from 'node:fs';
import { join, sep } from 'node:path';
import { globSync } from 'tinyglobby';
import { describe, expect, it } from 'vitest';
import { type DeclaredModules, findViolations } from './architecture/checker.js';
import { PACKAGES } from './architecture/rules.js';

const root = join(import.meta.dirname, '..');
const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
const declared: DeclaredModules = {
  dependencies: Object.keys(manifest.dependencies),
  devDependencies: Object.keys(manifest.devDependencies),
};

const sources = globSync(['{libs,apps}/*/src/**/*.{ts,tsx}', 'synthetic-fleet/src/**/*.ts', 'test/**/*.ts', '*.ts'], {
  cwd: root,
  ignore: ['**/node_modules/**', '**/dist/**'],
}).map((path) => ({ path: path.split(sep).join('/'), text: readFileSync(join(root, path), 'utf8') }));

describe('the import rules', () => {
  it('finds the sources of every package', () => {
    for (const rule of Object.values(PACKAGES))
      expect(
        sources.some((source) => source.path.startsWith(`${rule.directory}/src/`)),
        rule.directory,
      ).toBe(true);
  });

  it('hold in every source file', () => {
    expect(findViolations(sources, declared)).toEqual([]);
  }, 120_000);

  it('are a table without cycles', () => {
    const done = new Set<string>();
    const rest = new Map(Object.entries(PACKAGES));
    for (let progress = true; progress; ) {
      progress = false;
      for (const [name, rule] of rest)
        if (rule.mayImport.every((other) => done.has(other))) {
          done.add(name);
          rest.delete(name);
          progress = true;
        }
    }
    expect([...rest.keys()]).toEqual([]);
  });

  it('name every workspace as its own package.json does', () => {
    for (const [name, rule] of Object.entries(PACKAGES)) {
      const own = JSON.parse(readFileSync(join(root, rule.directory, 'package.json'), 'utf8'));
      expect(own.name).toBe(name);
    }
  });
});

/** Each row plants one violation in memory; the checker must name it. A row without `finds` must pass. */
const PLANTED: { what: string; path: string; text: string; finds?: RegExp; beside?: Record<string, string> }[] = [
  { what: 'an allowed edge', path: 'apps/api/src/a.ts', text: "import { lake } from '@tallybay/lake';" },
  { what: 'an own file', path: 'libs/lake/src/a.ts', text: "import { sql } from './sql.js';" },
  {
    what: 'app to app',
    path: 'apps/api/src/a.ts',
    text: "import { x } from '@tallybay/app-ingest';",
    finds: /app-api may not import @tallybay\/app-ingest/,
  },
  {
    what: 'app to app by path',
    path: 'apps/api/src/a.ts',
    text: "import { x } from '../../ingest/src/main.js';",
    finds: /reaches out of @tallybay\/app-api/,
  },
  {
    what: 'lib to app',
    path: 'libs/lake/src/a.ts',
    text: "export * from '@tallybay/app-api';",
    finds: /may not import/,
  },
  {
    what: 'a lib edge that is not in the table',
    path: 'libs/stream/src/a.ts',
    text: "import type { Lake } from '@tallybay/lake';",
    finds: /stream may not import @tallybay\/lake/,
  },
  {
    what: 'past a lib’s index',
    path: 'apps/api/src/a.ts',
    text: "import { x } from '@tallybay/lake/dist/sql.js';",
    finds: /only the index/,
  },
  {
    what: 'a path into a lib from a test',
    path: 'test/unit/a.test.ts',
    text: "import { x } from '../../libs/lake/src/sql.js';",
    finds: /reaches into @tallybay\/lake/,
  },
  {
    what: 'a path into an app from a test',
    path: 'test/unit/a.test.ts',
    text: "import { x } from '../../apps/cli/src/run.js';",
  },
  {
    what: 'sources that import tests',
    path: 'libs/lake/src/a.ts',
    text: "import { x } from '../../../test/x.js';",
    finds: /imports from test/,
  },
  {
    what: 'Kafka outside stream',
    path: 'apps/ingest/src/a.ts',
    text: "const { Kafka } = await import('kafkajs');",
    finds: /only @tallybay\/stream may import kafkajs/,
  },
  {
    what: 'DuckDB outside lake',
    path: 'apps/api/src/a.ts',
    text: "import type { X } from '@duckdb/node-api';",
    finds: /only @tallybay\/lake/,
  },
  {
    what: 'SQLite outside registry',
    path: 'apps/api/src/a.ts',
    text: "import { DatabaseSync } from 'node:sqlite';",
    finds: /only @tallybay\/registry/,
  },
  {
    what: 'Node in decode',
    path: 'libs/decode/src/a.ts',
    text: "import { gunzipSync } from 'node:zlib';",
    finds: /decode is pure but imports node:zlib/,
  },
  {
    what: 'a framework in risk',
    path: 'libs/risk/src/a.ts',
    text: "import { Injectable } from '@nestjs/common';",
    finds: /risk is pure but imports @nestjs\/common/,
  },
  {
    what: 'the clock in risk',
    path: 'libs/risk/src/a.ts',
    text: 'export const now = () => Date.now();',
    finds: /Date\.now/,
  },
  {
    what: 'the clock by new Date()',
    path: 'libs/decode/src/a.ts',
    text: 'export const now = new Date();',
    finds: /new Date\(\)/,
  },
  {
    what: 'a date from an argument',
    path: 'libs/decode/src/a.ts',
    text: 'export const at = (ms: number) => new Date(ms);',
  },
  {
    what: 'chance in decode',
    path: 'libs/decode/src/a.ts',
    text: 'export const dice = Math.random;',
    finds: /Math\.random/,
  },
  {
    what: 'console in decode',
    path: 'libs/decode/src/a.ts',
    text: "console.log('x');",
    finds: /uses console/,
  },
  {
    what: 'Buffer in decode',
    path: 'libs/decode/src/a.ts',
    text: "export const b = Buffer.from('x');",
    finds: /uses Buffer/,
  },
  {
    what: 'words that only look like globals',
    path: 'libs/decode/src/a.ts',
    text: 'export const a = (process: { console: number }) => ({ Buffer: process.console });',
  },
  {
    what: 'an undeclared package',
    path: 'apps/cli/src/a.ts',
    text: "import x from 'left-out';",
    finds: /does not declare/,
  },
  {
    what: 'a devDependency at run time',
    path: 'apps/cli/src/a.ts',
    text: "import { it } from 'vitest';",
    finds: /only a devDependency/,
  },
  {
    what: 'a built-in without node:',
    path: 'apps/cli/src/a.ts',
    text: "import fs from 'fs';",
    finds: /write node:fs/,
  },
  { what: 'a package outside the table', path: 'libs/extra/src/a.ts', text: 'export {};', finds: /no package/ },
  {
    what: 'a cycle',
    path: 'libs/lake/src/a.ts',
    text: "import { b } from './b.js';",
    beside: { 'libs/lake/src/b.ts': "export { a as b } from './a.js';" },
    finds: /cycle: libs\/lake\/src\/a\.ts -> libs\/lake\/src\/b\.ts -> libs\/lake\/src\/a\.ts/,
  },
];

describe('the checker', () => {
  it.each(PLANTED)('$what', ({ path, text, finds, beside }) => {
    const planted = [
      { path, text },
      ...Object.entries(beside ?? {}).map(([other, own]) => ({ path: other, text: own })),
    ];
    const violations = findViolations(planted, declared);
    if (!finds) expect(violations).toEqual([]);
    else {
      expect(violations).toHaveLength(1);
      expect(violations[0]).toMatch(finds);
      expect(violations[0]).toContain(path);
    }
  });
});
