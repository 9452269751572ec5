import { Body, Controller, Get, Headers, HttpCode, Post, Query, Res } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  inspectionSchema,
  type PlanRun,
  planRequestSchema,
  planRunSchema,
  shopPlanSchema,
  visitSchema,
} from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { editorOf } from './editor.js';
import { InspectionDesk } from './inspection-desk.js';
import { visitsCsv } from './plan-papers.js';
import { PlanView } from './plan-view.js';
import { ShopPlanner } from './shop-planner.js';
import { VisitDesk } from './visit-desk.js';

const span = z.object({ from: z.iso.date().optional(), days: z.coerce.number().int().min(1).max(120).optional() });
const filter = z.object({
  vehicle: z.string().optional(),
  from: z.iso.date().optional(),
  to: z.iso.date().optional(),
});
const visitsSchema = z.object({ visits: z.array(visitSchema) });
const inspectionsSchema = z.object({ inspections: z.array(inspectionSchema) });
const ofVehicle = z.object({ vehicle: z.string().optional() });

@ApiTags('plan')
@Controller('v1/plan')
export class PlanController {
  constructor(
    private readonly planner: ShopPlanner,
    private readonly view: PlanView,
    private readonly desk: VisitDesk,
  ) {}

  @Get()
  @ApiOperation({ summary: 'The board: bays by day, visits, what waits, what the last planning said' })
  @ApiOkResponse({ standardSchema: shopPlanSchema })
  board(@Query({ schema: span }) query: z.infer<typeof span>) {
    return this.view.board(query);
  }

  @Post()
  @HttpCode(202)
  @ApiOperation({ summary: 'Make a plan of what is found and booked now; GET /v1/plan/run tells how far it is' })
  @ApiOkResponse({ standardSchema: planRunSchema })
  start(
    @Body({ schema: planRequestSchema }) { seconds }: z.infer<typeof planRequestSchema>,
    @Headers() headers: Record<string, string>,
  ): Promise<PlanRun> {
    return this.planner.start(seconds, editorOf(headers));
  }

  @Get('run')
  @ApiOkResponse({ standardSchema: planRunSchema })
  run(): PlanRun {
    return this.planner.run();
  }

  @Post('book')
  @HttpCode(200)
  @ApiOperation({ summary: 'Book every visit that is proposed' })
  @ApiOkResponse({ standardSchema: visitsSchema })
  async book(@Headers() headers: Record<string, string>) {
    const booked = await this.desk.bookAll(editorOf(headers));
    return { visits: await Promise.all(booked.map((visit) => this.view.view(visit))) };
  }

  @Get('visits')
  @ApiOkResponse({ standardSchema: visitsSchema })
  async visits(@Query({ schema: filter }) query: z.infer<typeof filter>) {
    return { visits: await this.view.visits(given(query)) };
  }

  @Get('visits.csv')
  @ApiOperation({ summary: 'Visits as CSV (RFC 4180)' })
  async csv(@Query({ schema: filter }) query: z.infer<typeof filter>, @Res() reply: FastifyReply): Promise<void> {
    void reply.header('content-disposition', 'attachment; filename="shop-plan.csv"');
    await reply.type('text/csv; charset=utf-8').send(visitsCsv(await this.view.visits(given(query))));
  }
}

@ApiTags('plan')
@Controller('v1/inspections')
export class InspectionsController {
  constructor(
    private readonly registry: Registry,
    private readonly desk: InspectionDesk,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Inspections in every state, of one vehicle where given' })
  @ApiOkResponse({ standardSchema: inspectionsSchema })
  async list(@Query({ schema: ofVehicle }) { vehicle }: z.infer<typeof ofVehicle>) {
    return { inspections: await this.registry.inspections.list(vehicle === undefined ? {} : { vehicle }) };
  }

  @Post('refresh')
  @HttpCode(200)
  @ApiOperation({ summary: 'Propose inspections from the newest ranking, codes, readiness, sensors and the calendar' })
  @ApiOkResponse({ standardSchema: inspectionsSchema })
  async refresh() {
    return { inspections: await this.desk.refresh() };
  }
}

/** Without the keys that were not given. */
const given = (query: z.infer<typeof filter>): { vehicle?: string; from?: string; to?: string } =>
  Object.fromEntries(Object.entries(query).filter(([, value]) => value !== undefined));
