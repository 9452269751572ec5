export * from './data-weeks.js';
export * from './drive-history.js';
export * from './last-seen.js';
export * from './ranking-input.js';
export * from './snapshot-history.js';
export * from './week-drives.js';
export * from './week-dwell.js';
export * from './week-signal-stats.js';
