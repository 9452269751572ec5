import { Controller, Get } from '@nestjs/common';
import { Registry } from '@tallybay/registry';
import { IngestRuntime } from '../ingest.runtime.js';

export interface PipelineState {
  /** Uploads by state. */
  uploads: Record<string, number>;
  /** Messages on the stream that are not yet committed, in all; null where this process does not decode. */
  lag: number | null;
  partitions: { topic: string; partition: number; committed: string; end: string }[];
}

/** How far the path is: what waits, what is on the stream, what is stored. */
@Controller('v1/pipeline')
export class PipelineController {
  constructor(
    private readonly runtime: IngestRuntime,
    private readonly registry: Registry,
  ) {}

  @Get()
  async state(): Promise<PipelineState> {
    const [uploads, lag] = await Promise.all([this.registry.uploads.countByState(), this.runtime.lag()]);
    return {
      uploads,
      lag:
        this.runtime.config.role === 'receive'
          ? null
          : lag.reduce((sum, { committed, end }) => sum + Number(end - committed), 0),
      partitions: lag.map(({ topic, partition, committed, end }) => ({
        topic,
        partition,
        committed: String(committed),
        end: String(end),
      })),
    };
  }
}
