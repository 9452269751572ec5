import { Body, Controller, Get, Headers, HttpCode, Param, Post, Query, Res } from '@nestjs/common';
import { ApiHeader, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  declineRequestSchema,
  doneRequestSchema,
  moveRequestSchema,
  pinRequestSchema,
  placeCheckSchema,
  type Visit,
  visitSchema,
} from '@tallybay/contracts';
import type { StoredVisit } from '@tallybay/registry';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { expectedVersion, versioned } from '../http/version-headers.js';
import { editorOf } from './editor.js';
import { PlanView } from './plan-view.js';
import { type Edit, VisitDesk } from './visit-desk.js';

const id = z.string().min(1).max(80);
const none = z.object({}).strict().optional();
const placesSchema = z.object({ places: z.array(placeCheckSchema) });
const sheetQuery = z.object({ day: z.iso.date() });
type Sent = Record<string, string>;

@ApiTags('plan')
@ApiHeader({ name: 'if-match', required: false, description: 'ETag of the visit that was edited' })
@ApiHeader({ name: 'x-tallybay-editor', required: false, description: 'who edits, kept with the change' })
@Controller('v1/plan/visits/:id')
export class VisitsController {
  constructor(
    private readonly desk: VisitDesk,
    private readonly view: PlanView,
  ) {}

  @Get('places')
  @ApiOperation({ summary: 'For each bay and day whether the visit fits there, and what stands against it' })
  @ApiOkResponse({ standardSchema: placesSchema })
  async places(@Param('id', { schema: id }) visit: string) {
    return { places: await this.desk.places(visit) };
  }

  @Post('move')
  @HttpCode(200)
  @ApiOperation({ summary: 'Move a visit; it is pinned there. 409 place_taken says which limit is against it' })
  @ApiOkResponse({ standardSchema: visitSchema })
  move(
    @Param('id', { schema: id }) visit: string,
    @Body({ schema: moveRequestSchema }) to: z.infer<typeof moveRequestSchema>,
    @Headers() headers: Sent,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Visit> {
    return this.answer(reply, this.desk.move(editFrom(visit, headers), to));
  }

  @Post('pin')
  @HttpCode(200)
  @ApiOperation({ summary: 'Pin a visit to its bay and day, or let it go' })
  @ApiOkResponse({ standardSchema: visitSchema })
  pin(
    @Param('id', { schema: id }) visit: string,
    @Body({ schema: pinRequestSchema }) { pinned }: z.infer<typeof pinRequestSchema>,
    @Headers() headers: Sent,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Visit> {
    return this.answer(reply, this.desk.pin(editFrom(visit, headers), pinned));
  }

  @Post('book')
  @HttpCode(200)
  @ApiOkResponse({ standardSchema: visitSchema })
  book(
    @Param('id', { schema: id }) visit: string,
    @Body({ schema: none }) _body: unknown,
    @Headers() headers: Sent,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Visit> {
    return this.answer(reply, this.desk.step(editFrom(visit, headers), 'booked'));
  }

  @Post('start')
  @HttpCode(200)
  @ApiOperation({ summary: 'The vehicle is in the bay' })
  @ApiOkResponse({ standardSchema: visitSchema })
  start(
    @Param('id', { schema: id }) visit: string,
    @Body({ schema: none }) _body: unknown,
    @Headers() headers: Sent,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Visit> {
    return this.answer(reply, this.desk.step(editFrom(visit, headers), 'in_the_bay'));
  }

  @Post('done')
  @HttpCode(200)
  @ApiOperation({ summary: 'Done, with what was found and fitted; exposure counts anew from here' })
  @ApiOkResponse({ standardSchema: visitSchema })
  done(
    @Param('id', { schema: id }) visit: string,
    @Body({ schema: doneRequestSchema }) { findings, parts, note }: z.infer<typeof doneRequestSchema>,
    @Headers() headers: Sent,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Visit> {
    const change = { findings, used: parts, ...(note === undefined ? {} : { note }) };
    return this.answer(reply, this.desk.step(editFrom(visit, headers), 'done', change));
  }

  @Post('decline')
  @HttpCode(200)
  @ApiOperation({
    summary: 'Take a visit from the plan for a reason; its inspections are not asked for again for a while',
  })
  @ApiOkResponse({ standardSchema: visitSchema })
  decline(
    @Param('id', { schema: id }) visit: string,
    @Body({ schema: declineRequestSchema }) { reason }: z.infer<typeof declineRequestSchema>,
    @Headers() headers: Sent,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Visit> {
    return this.answer(reply, this.desk.decline(editFrom(visit, headers), reason));
  }

  private async answer(reply: FastifyReply, visit: Promise<StoredVisit>): Promise<Visit> {
    return versioned(reply, await this.view.view(await visit));
  }
}

@ApiTags('plan')
@Controller('v1/plan')
export class PlanFeedsController {
  constructor(private readonly view: PlanView) {}

  @Get('depots/:id/calendar.ics')
  @ApiOperation({ summary: 'The visits of a depot as a calendar feed (RFC 5545)' })
  async depot(@Param('id', { schema: id }) depot: string, @Res() reply: FastifyReply): Promise<void> {
    await reply.type('text/calendar; charset=utf-8').send(await this.view.depotFeed(depot));
  }

  @Get('bays/:id/calendar.ics')
  @ApiOperation({ summary: 'The visits of a bay as a calendar feed (RFC 5545)' })
  async bay(@Param('id', { schema: id }) bay: string, @Res() reply: FastifyReply): Promise<void> {
    await reply.type('text/calendar; charset=utf-8').send(await this.view.bayFeed(bay));
  }

  @Get('bays/:id/day-sheet')
  @ApiOperation({ summary: 'One bay’s day, to print' })
  async sheet(
    @Param('id', { schema: id }) bay: string,
    @Query({ schema: sheetQuery }) { day }: z.infer<typeof sheetQuery>,
    @Res() reply: FastifyReply,
  ): Promise<void> {
    await reply.type('text/html; charset=utf-8').send(await this.view.daySheet(bay, day));
  }
}

const editFrom = (visit: string, headers: Sent): Edit => ({
  ...{ id: visit, expectedVersion: expectedVersion(headers).expectedVersion, by: editorOf(headers) },
});
