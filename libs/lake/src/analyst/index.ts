export { ALLOWED_FUNCTIONS, ALLOWED_TABLE_FUNCTIONS } from './allowed-functions.js';
export { initReference, writeReference } from './reference-files.js';
export * from './reference-tables.js';
export type { ResultColumn } from './result-columns.js';
export { type AnalystAsk, AnalystSandbox, type AnswerPart, type SandboxOptions } from './sandbox.js';
export { MAX_SQL_CHARACTERS } from './statement-check.js';
export { columnComment, type ViewColumn } from './view-columns.js';
export { analystViewSql, lakeSql } from './view-sql.js';
export { ANALYST_VIEWS, type AnalystView } from './views.js';
