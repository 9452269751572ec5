import { Controller, Get, Res } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiServiceUnavailableResponse, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Readiness, readinessSchema } from './readiness.js';

@ApiTags('health')
@Controller('health')
export class HealthController {
  constructor(private readonly readiness: Readiness) {}

  @Get('live')
  @ApiOperation({ summary: 'The process runs' })
  live() {
    return { status: 'ok' };
  }

  @Get('ready')
  @ApiOperation({ summary: 'Requests can be answered: registry and lake are usable, and the process is not stopping' })
  @ApiOkResponse({ standardSchema: readinessSchema })
  @ApiServiceUnavailableResponse({ standardSchema: readinessSchema })
  async ready(@Res({ passthrough: true }) reply: FastifyReply) {
    const report = await this.readiness.report();
    if (!report.ready) void reply.status(503);
    return report;
  }
}
