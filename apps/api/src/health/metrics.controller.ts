import { Controller, Get, Header } from '@nestjs/common';
import { ApiOperation, ApiProduces, ApiTags } from '@nestjs/swagger';
import { METRICS_TYPE } from '@tallybay/contracts';
import { ApiRuntime } from '../api.runtime.js';
import { apiMetrics } from './api-metrics.js';

@ApiTags('health')
@Controller('metrics')
export class MetricsController {
  constructor(private readonly runtime: ApiRuntime) {}

  @Get()
  @Header('content-type', METRICS_TYPE)
  @ApiProduces('text/plain')
  @ApiOperation({ summary: "For Prometheus; ingest's own are at its address" })
  metrics(): Promise<string> {
    const { registry, config, queries, readiness, requests, nowMs } = this.runtime;
    return apiMetrics({ registry, lakeDirectory: config.lakeDirectory, queries, readiness, requests, nowMs });
  }
}
