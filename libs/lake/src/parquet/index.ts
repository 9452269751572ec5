export type { ColumnData } from './column-chunk.js';
export { ChunkEncoder } from './column-chunk.js';
export { ParquetFileWriter } from './file-writer.js';
