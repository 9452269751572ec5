import { defineConfig } from 'vitest/config';

// Workspaces export their sources under the `source` condition, so the tests run on the TypeScript itself, unbuilt.
const resolve = { conditions: ['source', 'node', 'module', 'default'] };
const ssr = { resolve: { conditions: ['source', 'node', 'module', 'default'] } };
const project = (name: string, include: string[], testTimeout: number, fileParallelism = true) => ({
  resolve,
  ssr,
  test: { name, include, testTimeout, hookTimeout: testTimeout, fileParallelism, pool: 'forks' as const },
});

export default defineConfig({
  test: {
    // Two files at once: service tests wait as much as they work, and every file has ports and folders of its own. Only
    // the end-to-end tests take the default ports, as a person's first start does, so they come one after another.
    maxWorkers: 2,
    projects: [
      project('unit', ['test/unit/**/*.test.ts', 'test/architecture.test.ts'], 20_000),
      project('integration', ['test/integration/**/*.test.ts'], 120_000),
      project('e2e', ['test/e2e/**/*.test.ts'], 300_000, false),
    ],
  },
});
