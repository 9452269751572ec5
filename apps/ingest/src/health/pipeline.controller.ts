import { Controller, Get } from '@nestjs/common';
import type { PipelineState } from '@tallybay/contracts';
import { IngestRuntime } from '../ingest.runtime.js';

/** How far the path is: what waits, what is on the stream, what is stored. Every role answers it. */
@Controller('v1/pipeline')
export class PipelineController {
  constructor(private readonly runtime: IngestRuntime) {}

  @Get()
  state(): Promise<PipelineState> {
    return this.runtime.pipeline();
  }
}
