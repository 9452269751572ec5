// Decoding: bytes of logs and diagnostic responses to named, unit-true values. Pure: no Node, files, clock, logger,
// Nest, Kafka or DuckDB; it runs in a browser as well. Every table row carries its source.
export * from './log/types.js';
export * from './signals/catalogue.js';
