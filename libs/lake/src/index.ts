// The lake: Parquet files with the whole history, and DuckDB to ask them. Only this lib may import DuckDB.
export * from './lake.js';
export * from './layout.js';
export * from './parquet/index.js';
export * from './sql.js';
export * from './tables.js';
