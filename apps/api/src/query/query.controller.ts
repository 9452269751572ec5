import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Req, Res } from '@nestjs/common';
import { ApiBody, ApiHeader, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  QUERY_FORMATS,
  type QueryRequest,
  type QueryStatus,
  type QueryViews,
  queryAnswerSchema,
  queryRequestSchema,
  queryStatusSchema,
  queryViewsSchema,
} from '@tallybay/contracts';
import { ALLOWED_FUNCTIONS, ALLOWED_TABLE_FUNCTIONS, ANALYST_VIEWS } from '@tallybay/lake';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { expectedVersion } from '../http/version-headers.js';
import { formatOf } from './answer-format.js';
import { PERSON_HEADER, personOf } from './person.js';
import { type QueryLimitsDocument, queryLimitsDocumentSchema } from './query-limits.js';
import { QueryService } from './query-service.js';
import { sendAnswer } from './send-answer.js';

const id = z.string().max(64);
const person = { name: PERSON_HEADER, required: false, description: 'who asks: a name for limits and the log' };

@ApiTags('query')
@Controller('v1/query')
export class QueryController {
  constructor(private readonly queries: QueryService) {}

  @Post()
  @HttpCode(200)
  @ApiOperation({
    summary: `One SELECT over the views; the answer by Accept: ${Object.values(QUERY_FORMATS).join(', ')}. Hanging up cancels it`,
  })
  @ApiHeader(person)
  @ApiBody({ standardSchema: queryRequestSchema } as never)
  @ApiOkResponse({ standardSchema: queryAnswerSchema })
  async ask(
    @Body({ schema: queryRequestSchema }) request: QueryRequest,
    @Req() incoming: FastifyRequest,
    @Res() reply: FastifyReply,
  ): Promise<void> {
    const format = formatOf(incoming.headers.accept, request.format);
    const who = personOf(incoming.headers, incoming.ip);
    const { runs } = this.queries;
    const id = runs.newId(request.id);
    // Whoever hangs up before the first byte is not waited for either; a query that is over stays as it is.
    reply.raw.once('close', () => runs.cancel(id));
    await sendAnswer(reply, await this.queries.answer({ ...request, id }, who, format, incoming.id), (key) =>
      runs.status(key),
    );
  }

  @Get('views')
  @ApiOperation({ summary: 'What can be asked: views, their columns with units and sources, and the functions' })
  @ApiOkResponse({ standardSchema: queryViewsSchema })
  views(): QueryViews {
    return {
      views: ANALYST_VIEWS.map(({ name, comment, columns }) => ({ name, comment, columns: [...columns] })),
      functions: [...new Set([...ALLOWED_FUNCTIONS, ...ALLOWED_TABLE_FUNCTIONS])]
        .filter((name) => /^\w+$/.test(name))
        .sort(),
    };
  }

  @Get('limits')
  @ApiOperation({ summary: 'Rows, seconds and memory that everybody, or a person, may use' })
  @ApiOkResponse({ standardSchema: queryLimitsDocumentSchema })
  async limits(@Res({ passthrough: true }) reply: FastifyReply): Promise<QueryLimitsDocument> {
    const { document, version } = await this.queries.limits.read();
    void reply.header('etag', `"${version}"`);
    return document;
  }

  @Put('limits')
  @ApiOkResponse({ standardSchema: queryLimitsDocumentSchema })
  putLimits(
    @Body({ schema: queryLimitsDocumentSchema }) document: QueryLimitsDocument,
    @Req() { headers, ip }: FastifyRequest,
  ): Promise<QueryLimitsDocument> {
    const given = headers as Record<string, string>;
    return this.queries.limits.put(document, { ...expectedVersion(given), by: personOf(headers, ip) });
  }

  @Get(':id')
  @ApiOperation({ summary: 'How a query is going, or went' })
  @ApiOkResponse({ standardSchema: queryStatusSchema })
  status(@Param('id', { schema: id }) key: string): QueryStatus {
    return this.queries.status(key);
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiOperation({ summary: 'Cancel a query; one that is over stays as it is' })
  @ApiNoContentResponse()
  cancel(@Param('id', { schema: id }) key: string): void {
    this.queries.cancel(key);
  }
}
