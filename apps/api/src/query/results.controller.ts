import { Body, Controller, Get, HttpCode, Param, Post, Query, Req, Res } from '@nestjs/common';
import { ApiHeader, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type QueryResult,
  queryAnswerSchema,
  queryFormatSchema,
  queryRequestSchema,
  queryResultSchema,
} from '@tallybay/contracts';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { formatOf } from './answer-format.js';
import { KeptAnswers } from './kept-answers.js';
import { PERSON_HEADER, personOf } from './person.js';
import { QueryService } from './query-service.js';
import { sendAnswer } from './send-answer.js';

const id = z.string().regex(/^[\w-]{24}$/, 'expected the 24 characters of the link');
const keepSchema = queryRequestSchema.extend({ name: z.string().trim().min(1).max(120).optional() });
const rowsQuery = z.object({ format: queryFormatSchema.optional(), shape: z.enum(['arrays', 'objects']).optional() });
const person = { name: PERSON_HEADER, required: false, description: 'who asks' };

@ApiTags('query')
@Controller('v1/query-results')
export class ResultsController {
  constructor(
    private readonly answers: KeptAnswers,
    private readonly queries: QueryService,
  ) {}

  @Post()
  @HttpCode(200)
  @ApiOperation({ summary: 'Run a statement and keep its answer under a link that can be sent' })
  @ApiHeader(person)
  @ApiOkResponse({ standardSchema: queryResultSchema })
  keep(
    @Body({ schema: keepSchema }) request: z.infer<typeof keepSchema>,
    @Req() { headers, ip }: FastifyRequest,
  ): Promise<QueryResult> {
    return this.answers.keep(request, personOf(headers, ip), null);
  }

  @Get(':id')
  @ApiOperation({ summary: 'What a kept answer is: its statement, who made it when, how many rows' })
  @ApiOkResponse({ standardSchema: queryResultSchema })
  get(@Param('id', { schema: id }) key: string): Promise<QueryResult> {
    return this.answers.get(key);
  }

  @Get(':id/rows')
  @ApiOperation({ summary: 'The rows of a kept answer, in the format of Accept or `?format=`' })
  @ApiOkResponse({ standardSchema: queryAnswerSchema })
  async rows(
    @Param('id', { schema: id }) key: string,
    @Query({ schema: rowsQuery }) query: z.infer<typeof rowsQuery>,
    @Req() { headers, ip }: FastifyRequest,
    @Res() reply: FastifyReply,
  ): Promise<void> {
    const file = await this.answers.file(key);
    const format = formatOf(headers.accept, query.format);
    const answer = await this.queries.stored(file, personOf(headers, ip), format, query.shape);
    await sendAnswer(reply, answer, (known) => this.queries.runs.status(known));
  }
}
