import type { DuckDBDataChunk, DuckDBResult } from '@duckdb/node-api';

/** Chunks of a streamed result, the next one asked for while the last is being worked on. */
export class ChunkReader {
  private ahead: Promise<DuckDBDataChunk | null> | null = null;

  constructor(readonly result: DuckDBResult) {}

  /** Null at the end. @throws what DuckDB says */
  async next(): Promise<DuckDBDataChunk | null> {
    const chunk = await (this.ahead ?? this.result.fetchChunk());
    this.ahead = null;
    if (!chunk || chunk.rowCount === 0) return null;
    this.ahead = this.result.fetchChunk();
    // Its failure is told to whoever asks for it.
    this.ahead.catch(() => {});
    return chunk;
  }

  /** Waits for what is on its way, whatever comes of it. */
  async settle(): Promise<void> {
    await this.ahead?.catch(() => {});
  }
}
