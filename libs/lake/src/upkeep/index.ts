export * from './compaction.js';
export * from './packs.js';
export * from './removal.js';
export * from './retention.js';
export * from './unpack.js';
export * from './vacuum.js';
export * from './withheld.js';
