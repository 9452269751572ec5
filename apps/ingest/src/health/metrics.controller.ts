import { Controller, Get, Header } from '@nestjs/common';
import { IngestRuntime } from '../ingest.runtime.js';
import { metricsText } from './metrics.js';

@Controller('metrics')
export class MetricsController {
  constructor(private readonly runtime: IngestRuntime) {}

  /** In Prometheus' text format 0.0.4. */
  @Get()
  @Header('content-type', 'text/plain; version=0.0.4; charset=utf-8')
  async metrics(): Promise<string> {
    const [pipeline, { ready }] = await Promise.all([this.runtime.pipeline(), this.runtime.readiness()]);
    const state = { ready, role: this.runtime.config.role, residentBytes: process.memoryUsage.rss() };
    return metricsText(pipeline, state, this.runtime.refusals.all);
  }
}
