// The registry: what people decide and what the path must remember (depots, vehicles, recorder assignments, profiles,
// uploads, settings, jobs), in SQLite by default or in PostgreSQL when a URL is given; the same migrations and queries on
// both. Only this lib may import a state database. It knows nothing of HTTP, the stream, or the lake's files.
export * from './depots.js';
export * from './extremes-resets.js';
export type { FleetImportCounts } from './fleet-import.js';
export { Inspections, type NewInspection } from './inspections.js';
export * from './jobs.js';
export * from './limit-events.js';
export * from './notes.js';
export * from './notices.js';
export * from './profiles.js';
export { Questions } from './questions.js';
export * from './recorders.js';
export * from './registry.js';
export * from './settings.js';
export { speedCorrectionAt, speedFactorOf } from './speed-factor.js';
export * from './upload-row.js';
export * from './uploads.js';
export * from './vehicles.js';
export type { PutOptions, Versioned } from './versioned-put.js';
export { type VisitEvent, VisitNews, type VisitNewsWay, type WaitingEvent } from './visit-news.js';
export * from './work.js';
export * from './work-rows.js';
