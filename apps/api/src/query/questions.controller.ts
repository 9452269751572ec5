import { Body, Controller, Delete, Get, Headers, HttpCode, Param, Post, Put, Req, Res } from '@nestjs/common';
import { ApiHeader, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type QueryResult,
  type Question,
  type QuestionInput,
  queryResultListSchema,
  queryResultSchema,
  questionInputSchema,
  questionListSchema,
  questionSchema,
} from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { found } from '../fleet/found.js';
import { expectedVersion, versioned } from '../http/version-headers.js';
import { KeptAnswers } from './kept-answers.js';
import { PERSON_HEADER, personOf } from './person.js';
import { mustBeSchedule } from './question-schedule.js';

const id = z.string().regex(/^[a-z0-9][a-z0-9-]{0,79}$/, 'expected lower-case letters, digits and -');
const person = { name: PERSON_HEADER, required: false, description: 'who asks; the owner of what is saved' };
const MOST_RESULTS = 100;

@ApiTags('query')
@Controller('v1/questions')
export class QuestionsController {
  constructor(
    private readonly registry: Registry,
    private readonly answers: KeptAnswers,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Saved questions, by name' })
  @ApiOkResponse({ standardSchema: questionListSchema })
  async list() {
    return { questions: await this.registry.questions.list() };
  }

  @Get(':id')
  @ApiOkResponse({ standardSchema: questionSchema })
  async get(
    @Param('id', { schema: id }) key: string,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Question> {
    return versioned(reply, await this.question(key));
  }

  @Put(':id')
  @ApiOperation({ summary: 'Save a question; it belongs to whoever saved it first' })
  @ApiHeader(person)
  @ApiOkResponse({ standardSchema: questionSchema })
  async put(
    @Param('id', { schema: id }) key: string,
    @Body({ schema: questionInputSchema }) question: QuestionInput,
    @Headers() headers: Record<string, string>,
    @Req() incoming: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Question> {
    if (question.schedule) mustBeSchedule(question.schedule);
    const owner = personOf(headers, incoming.ip);
    return versioned(reply, await this.registry.questions.put(key, question, owner, expectedVersion(headers)));
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiNoContentResponse()
  async remove(@Param('id', { schema: id }) key: string, @Req() { headers, ip }: FastifyRequest): Promise<void> {
    found(await this.registry.questions.remove(key, personOf(headers, ip)), `question ${key}`);
  }

  @Post(':id/run')
  @HttpCode(200)
  @ApiOperation({ summary: 'Run it now and keep the answer; the id of the answer is a link that can be sent' })
  @ApiOkResponse({ standardSchema: queryResultSchema })
  async run(@Param('id', { schema: id }) key: string, @Req() { headers, ip }: FastifyRequest): Promise<QueryResult> {
    const { sql, parameters, name } = await this.question(key);
    return this.answers.keep({ sql, parameters, name }, personOf(headers, ip), key);
  }

  @Get(':id/results')
  @ApiOperation({ summary: 'Kept answers of a question, newest first' })
  @ApiOkResponse({ standardSchema: queryResultListSchema })
  async results(@Param('id', { schema: id }) key: string) {
    await this.question(key);
    return { results: await this.registry.questions.resultsOf(key, MOST_RESULTS) };
  }

  private async question(key: string): Promise<Question> {
    return found(await this.registry.questions.get(key), `question ${key}`);
  }
}
