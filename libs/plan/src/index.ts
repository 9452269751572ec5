// From findings to booked visits: which inspections a vehicle is due, and the plan of least cost that fits them into the
// bays, hours and people there are. Pure: problem and clock come in, a plan goes out; HiGHS (WebAssembly) solves.
// May import @tallybay/contracts, decode, risk, highs, luxon and zod; never Nest, Kafka, DuckDB, the registry or node:*.
export * from './check/check-plan.js';
export * from './explain/explain.js';
export * from './explain/outcome.js';
export * from './model/costs.js';
export * from './model/places.js';
export * from './model/problem.js';
export * from './propose/dates.js';
export * from './propose/findings.js';
export * from './propose/from-shop.js';
export * from './propose/propose.js';
export * from './solve/baseline.js';
export { equalBays, singleBays } from './solve/bay-groups.js';
export { Board } from './solve/board.js';
export * from './solve/load-solver.js';
export * from './solve/pins.js';
export * from './solve/sequence.js';
export * from './solve/solve-plan.js';
export * from './tables/kinds.js';
