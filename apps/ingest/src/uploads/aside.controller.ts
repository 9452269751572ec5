import { Controller, Get, HttpCode, Post, Query, Req } from '@nestjs/common';
import {
  type DeadLetterList,
  type DecodeAgainResult,
  decodeAgainRequestSchema,
  type EventList,
  eventSchema,
  type LakeCheck,
  parseContract,
  parseParameters,
  type ReplayResult,
  replayRequestSchema,
  TOPICS,
} from '@tallybay/contracts';
import type { FastifyRequest } from 'fastify';
import { z } from 'zod';
import { readJson } from '../http/raw-body.js';
import { IngestRuntime } from '../ingest.runtime.js';

const limitSchema = z.object({ limit: z.coerce.number().int().min(1).max(1000).default(100) });

/** What keeps the path clear: dead letters and their replay, decoding again, the lake's health, and what was announced. */
@Controller('v1')
export class AsideController {
  constructor(private readonly runtime: IngestRuntime) {}

  @Get('dead-letters')
  deadLetters(@Query() query: Record<string, unknown>): Promise<DeadLetterList> {
    return this.runtime.letters.list(parseParameters(limitSchema, query).limit);
  }

  @Post('dead-letters/replay')
  @HttpCode(202)
  async replay(@Req() request: FastifyRequest): Promise<ReplayResult> {
    return this.runtime.letters.replay(parseContract(replayRequestSchema, await readJson(request.raw), 'body_invalid'));
  }

  @Post('decode-again')
  @HttpCode(202)
  async decodeAgain(@Req() request: FastifyRequest): Promise<DecodeAgainResult> {
    const wanted = parseContract(decodeAgainRequestSchema, await readJson(request.raw), 'body_invalid');
    return this.runtime.decodeAgain.run(wanted);
  }

  @Post('lake-check')
  @HttpCode(200)
  lakeCheck(): Promise<LakeCheck> {
    return this.runtime.decodeAgain.checkLake();
  }

  /** The newest events; other systems read the topic itself. */
  @Get('events')
  async events(@Query() query: Record<string, unknown>): Promise<EventList> {
    const { limit } = parseParameters(limitSchema, query);
    const messages = await this.runtime.stream.browse(TOPICS.events, limit);
    const events = messages.map((message) => eventSchema.safeParse(JSON.parse(Buffer.from(message.value).toString())));
    return { events: events.filter((event) => event.success).map((event) => event.data) };
  }
}
