export * from './removal.js';
export * from './retention.js';
export * from './vacuum.js';
export * from './withheld.js';
