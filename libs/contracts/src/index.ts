// The only shapes that cross between apps: messages on the stream, HTTP bodies, and the problem table.
// One zod schema per shape; types are inferred from it. Imports nothing of the project.

export * from './aside-channel.js';
export * from './code-history.js';
export * from './crossings.js';
export * from './extremes.js';
export * from './fleet.js';
export * from './fleet-readiness.js';
export * from './inspect.js';
export * from './inspection.js';
export * from './limits-trial.js';
export * from './notice.js';
export * from './pipeline.js';
export * from './plan-api.js';
export * from './problem.js';
export * from './prometheus.js';
export * from './query.js';
export * from './query-process.js';
export * from './ranking.js';
export * from './ranking-rules.js';
export * from './readiness.js';
export * from './recording.js';
export * from './shop.js';
export * from './snapshot.js';
export * from './stream.js';
export * from './transfer.js';
export * from './upload.js';
export * from './validation.js';
export * from './vehicle-history.js';
export * from './vehicle-weeks.js';
