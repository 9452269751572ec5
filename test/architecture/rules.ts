/**
 * Who may import whom, as data. A package that is not a row may not exist; an edge that is not listed may not be used.
 * The rows follow the picture in DEVELOPERS.md: apps stand on libs, never on each other.
 */
export interface PackageRule {
  /** Folder from the repository root. */
  directory: string;
  /** Packages of the project it may import, by their names. */
  mayImport: readonly string[];
  /** No Node, clock, randomness, console or timers: it also runs in a browser, and the same input gives the same output. */
  pure?: boolean;
}

export const PACKAGES: Record<string, PackageRule> = {
  '@tallybay/contracts': { directory: 'libs/contracts', mayImport: [] },
  '@tallybay/decode': { directory: 'libs/decode', mayImport: [], pure: true },
  '@tallybay/risk': {
    directory: 'libs/risk',
    mayImport: ['@tallybay/contracts', '@tallybay/decode'],
    pure: true,
  },
  '@tallybay/plan': {
    directory: 'libs/plan',
    mayImport: ['@tallybay/contracts', '@tallybay/decode', '@tallybay/risk'],
    pure: true,
  },
  '@tallybay/stream': { directory: 'libs/stream', mayImport: ['@tallybay/contracts'] },
  '@tallybay/trace': { directory: 'libs/trace', mayImport: [] },
  '@tallybay/registry': { directory: 'libs/registry', mayImport: ['@tallybay/contracts', '@tallybay/decode'] },
  '@tallybay/lake': {
    directory: 'libs/lake',
    mayImport: ['@tallybay/contracts', '@tallybay/decode', '@tallybay/risk'],
  },
  '@tallybay/synthetic-fleet': {
    directory: 'synthetic-fleet',
    mayImport: ['@tallybay/contracts', '@tallybay/decode'],
  },
  '@tallybay/app-ingest': {
    directory: 'apps/ingest',
    mayImport: [
      '@tallybay/contracts',
      '@tallybay/decode',
      '@tallybay/risk',
      '@tallybay/stream',
      '@tallybay/registry',
      '@tallybay/lake',
      '@tallybay/trace',
    ],
  },
  '@tallybay/app-api': {
    directory: 'apps/api',
    mayImport: [
      '@tallybay/contracts',
      '@tallybay/decode',
      '@tallybay/risk',
      '@tallybay/plan',
      '@tallybay/stream',
      '@tallybay/registry',
      '@tallybay/lake',
      '@tallybay/trace',
    ],
  },
  // A person's SQL runs here, in a process of its own that can be killed without harm to anything else.
  '@tallybay/app-query': {
    directory: 'apps/query',
    mayImport: ['@tallybay/contracts', '@tallybay/decode', '@tallybay/lake'],
  },
  // The terminal talks to the services over HTTP; it decodes files by itself and brings the demo's fleet along.
  '@tallybay/app-cli': {
    directory: 'apps/cli',
    mayImport: ['@tallybay/contracts', '@tallybay/decode', '@tallybay/synthetic-fleet'],
  },
  // The page talks to apps/api over HTTP; it takes shapes from the contracts, and decodes previews and converts units itself.
  '@tallybay/app-web': { directory: 'apps/web', mayImport: ['@tallybay/contracts', '@tallybay/decode'] },
};

/** Clients of outside systems: each has one home. `node:sqlite` is the embedded state database. */
export const ONE_HOME: { module: RegExp; home: string }[] = [
  { module: /^(kafkajs(-.*)?|@platformatic\/kafka)$/, home: '@tallybay/stream' },
  { module: /^@duckdb\//, home: '@tallybay/lake' },
  { module: /^@opentelemetry\//, home: '@tallybay/trace' },
  { module: /^(kysely|pg|node:sqlite)$/, home: '@tallybay/registry' },
];

/** Third-party modules that a pure lib may import. */
export const PURE_THIRD_PARTY: readonly string[] = ['highs', 'luxon', 'zod'];

/** Globals that would tie a pure lib to a machine, a clock or chance. */
export const IMPURE_GLOBALS: readonly string[] = [
  'Buffer',
  'console',
  'fetch',
  'performance',
  'process',
  'queueMicrotask',
  'setImmediate',
  'setInterval',
  'setTimeout',
];
/** Calls of the same kind on objects that are otherwise fine. */
export const IMPURE_CALLS: readonly string[] = [
  'Date.now',
  'Math.random',
  'crypto.randomUUID',
  'crypto.getRandomValues',
];
