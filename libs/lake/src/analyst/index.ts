export { initReference, writeReference } from './reference-files.js';
export * from './reference-tables.js';
export { columnComment, type ViewColumn } from './view-columns.js';
export { analystViewSql, lakeSql } from './view-sql.js';
export { ANALYST_VIEWS, type AnalystView } from './views.js';
