import { Body, Controller, Delete, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiCreatedResponse, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type NewMarker,
  newMarkerSchema,
  noteSchema,
  recordingListSchema,
  recordingSchema,
  traceSchema,
  vehicleSchema,
} from '@tallybay/contracts';
import { z } from 'zod';
import { found } from '../fleet/found.js';
import { Recordings } from './recordings.js';

const MOST_SIGNALS = 24;

const instant = z.iso.datetime({ offset: true }).transform((text) => Date.parse(text));
const upload = z.string().min(1).max(80);
const view = z.object({
  signals: z
    .string()
    .max(8000)
    .transform((text) => text.split(',').filter((name) => name !== ''))
    .pipe(z.array(z.string()).min(1).max(MOST_SIGNALS))
    .describe('ids of the catalogue or of channels kept aside, as the recording lists them, separated by commas'),
  from: instant.optional().describe('first instant, RFC 3339; the start by default'),
  to: instant.optional().describe('last instant; the end by default'),
  points: z.coerce.number().int().min(10).max(4000).default(1200).describe('columns of the screen'),
});
export const removerSchema = z.object({ by: z.string().trim().min(1).max(80).describe('who takes it away') });

@ApiTags('recordings')
@Controller('v1')
export class RecordingsController {
  constructor(private readonly recordings: Recordings) {}

  @Get('vehicles/:id/recordings')
  @ApiOperation({ summary: 'Logs of a vehicle, newest first: span, rows, drives, signals, problems' })
  @ApiOkResponse({ standardSchema: recordingListSchema })
  list(@Param('id', { schema: vehicleSchema.shape.id }) vehicle: string) {
    return this.recordings.list(vehicle);
  }

  @Get('recordings/:upload')
  @ApiOperation({ summary: 'One log: signals with lowest and highest, drives, episodes, markers, stages' })
  @ApiOkResponse({ standardSchema: recordingSchema })
  get(@Param('upload', { schema: upload }) id: string) {
    return this.recordings.get(id);
  }

  @Get('recordings/:upload/trace')
  @ApiOperation({ summary: 'What a screen can show of some signals; no peak is lost, gaps stay gaps' })
  @ApiOkResponse({ standardSchema: traceSchema })
  trace(@Param('upload', { schema: upload }) id: string, @Query({ schema: view }) query: z.infer<typeof view>) {
    const { signals, from, to, points } = query;
    return this.recordings.trace(id, { signals, fromMs: from, toMs: to, points });
  }

  @Post('recordings/:upload/markers')
  @HttpCode(201)
  @ApiOperation({ summary: 'Add a marker to a recording' })
  @ApiCreatedResponse({ standardSchema: noteSchema })
  addMarker(@Param('upload', { schema: upload }) id: string, @Body({ schema: newMarkerSchema }) marker: NewMarker) {
    return this.recordings.addMarker(id, marker);
  }

  @Delete('recordings/:upload/markers/:marker')
  @HttpCode(204)
  @ApiOperation({ summary: 'Take away a marker that a person added; what it said is kept' })
  @ApiNoContentResponse()
  async removeMarker(
    @Param('upload', { schema: upload }) id: string,
    @Param('marker', { schema: upload }) marker: string,
    @Query({ schema: removerSchema }) { by }: z.infer<typeof removerSchema>,
  ): Promise<void> {
    found(await this.recordings.removeMarker(id, marker, by), `marker ${marker} that a person added to ${id}`);
  }
}
