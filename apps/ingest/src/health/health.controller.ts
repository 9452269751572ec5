import { Controller, Get, Res } from '@nestjs/common';
import type { FastifyReply } from 'fastify';
import { IngestRuntime } from '../ingest.runtime.js';

@Controller('health')
export class HealthController {
  constructor(private readonly runtime: IngestRuntime) {}

  /** The process runs. */
  @Get('live')
  live(): { status: string } {
    return { status: 'ok' };
  }

  /** Uploads can be taken: stores open, stream reachable, decoder running (where this process decodes), not stopping. */
  @Get('ready')
  async ready(@Res({ passthrough: true }) reply: FastifyReply): Promise<object> {
    const state = await this.runtime.readiness();
    if (!state.ready) void reply.status(503);
    return state;
  }
}
