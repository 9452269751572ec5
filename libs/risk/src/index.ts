// Judgement over facts of the lake: exposure, codes, readiness, sensor plausibility and the weekly ranking, with the
// rule tables they use. Pure: no files, no database, no clock, no logger; facts come in, a ranking goes out.
// May import @tallybay/contracts, @tallybay/decode (signal ids, code texts) and luxon; never Nest, Kafka, DuckDB or node:*.
export * from './calendar/iso-week.js';
export * from './codes/clears.js';
export * from './codes/history.js';
export * from './exposure/episodes.js';
export * from './exposure/exposure.js';
export * from './exposure/vehicle-heat.js';
export * from './facts.js';
export * from './ranking/compare.js';
export * from './ranking/ranking.js';
export * from './ranking/trend.js';
export * from './readiness/rules.js';
export * from './readiness/verdict.js';
export * from './rules/ageing.js';
export * from './rules/codes.js';
export * from './rules/heat.js';
export * from './rules/readiness.js';
export * from './rules/rule-set.js';
export * from './rules/sensors.js';
export * from './rules/severities.js';
export * from './rules/stages.js';
export * from './rules/warning.js';
export * from './sensors/findings.js';
export * from './sensors/sensor-context.js';
export * from './stats/descriptive.js';
export * from './stats/gamma-poisson.js';
export * from './stats/rainflow.js';
export * from './stats/regression.js';
export * from './stats/series.js';
export * from './stats/trend.js';
export * from './thermal/ageing.js';
export * from './thermal/fluid-ageing.js';
export * from './warning/drive-features.js';
export * from './warning/early-warning.js';
