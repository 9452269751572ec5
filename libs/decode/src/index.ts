// Decoding: bytes of logs and diagnostic responses to named, unit-true values. Pure: no Node, files, clock, logger,
// Nest, Kafka or DuckDB; it runs in a browser as well. Every table row carries its source.
export * from './log/types.js';
export * from './signals/catalogue.js';
export * from './decode-problem.js';
export * from './obd/hex.js';
export * from './obd/pid-types.js';
export * from './obd/pid-table.js';
export * from './obd/pid.js';
export * from './obd/pid-encode.js';
export * from './obd/supported-pids.js';
export * from './obd/monitor-status.js';
export * from './obd/iso-tp.js';
export * from './obd/response-text.js';
export * from './obd/vehicle-info.js';
export * from './obd/service.js';
export * from './codes/trouble-code.js';
export * from './codes/code-list.js';
export * from './codes/uds.js';
export * from './j1939/id.js';
export * from './j1939/spn-table.js';
export * from './j1939/spn.js';
export * from './j1939/transport.js';
export * from './j1939/fault.js';
export * from './j1939/dm.js';
export * from './vin/vin.js';
export * from './vin/model-year.js';
export * from './tyre/tyre.js';
