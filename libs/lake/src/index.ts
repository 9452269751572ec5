// The lake: Parquet files with the whole history, and DuckDB to ask them. Only this lib may import DuckDB.
// Writers are synchronous and stage files; `commitStaged` syncs and renames them into place.
export * from './analyst/index.js';
export * from './counted/index.js';
export * from './init.js';
export * from './lake.js';
export * from './lake-check.js';
export * from './lake-size.js';
export * from './layout.js';
export * from './log-writer.js';
export * from './parquet/index.js';
export * from './queries/index.js';
export * from './rankings.js';
export * from './snapshot-writer.js';
export * from './sql.js';
export * from './staged.js';
export * from './table-file.js';
export * from './tables.js';
export * from './upkeep/index.js';
