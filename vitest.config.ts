import { defineConfig } from 'vitest/config';

// Workspaces export their sources under the `source` condition, so the tests run on the TypeScript itself, unbuilt.
const resolve = { conditions: ['source', 'node', 'module', 'default'] };
const ssr = { resolve: { conditions: ['source', 'node', 'module', 'default'] } };
const project = (name: string, include: string[], testTimeout: number, more: object = {}) => ({
  resolve,
  ssr,
  test: { name, include, testTimeout, hookTimeout: testTimeout, pool: 'forks' as const, ...more },
});

/** Unit tests of seconds: exhaustive searches, whole fleets, every import. `npm test` runs them, the daily tier leaves them out. */
const LONG = [
  'test/architecture.test.ts',
  'test/unit/libs/plan/solve-plan.test.ts',
  'test/unit/synthetic-fleet/truth.test.ts',
  'test/unit/libs/lake/parquet/file-writer.test.ts',
  'test/unit/libs/lake/counted/count-once.test.ts',
  'test/unit/libs/lake/queries/overview-files.test.ts',
  'test/unit/synthetic-fleet/physics.test.ts',
  'test/unit/apps/cli/watch.test.ts',
  'test/unit/fuzz/fuzz.test.ts',
];

export default defineConfig({
  test: {
    // Two files at once: service tests wait as much as they work, and every file has ports and folders of its own. Only
    // the end-to-end tests take the default ports, as a person's first start does, so they come one after another.
    maxWorkers: 2,
    projects: [
      // Modules are loaded once a process, not once a file: half of the time went into loading.
      project('unit', ['test/unit/**/*.test.ts'], 20_000, { isolate: false, exclude: LONG }),
      project('long', LONG, 20_000),
      project('integration', ['test/integration/**/*.test.ts'], 120_000),
      project('e2e', ['test/e2e/**/*.test.ts'], 300_000, { fileParallelism: false }),
    ],
  },
});
