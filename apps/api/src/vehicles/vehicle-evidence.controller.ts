import { Body, Controller, Delete, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiCreatedResponse, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type NewNote,
  newNoteSchema,
  noteListSchema,
  noteSchema,
  vehicleEvidenceSchema,
  vehicleSchema,
} from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import { z } from 'zod';
import { found } from '../fleet/found.js';
import { removerSchema } from '../recordings/recordings.controller.js';
import { VehicleEvidenceReader } from './vehicle-evidence.js';

const id = vehicleSchema.shape.id;
const note = z.string().min(1).max(80);
const weeks = z.object({
  until: z.string().max(12).optional().describe('last ISO week; the current one by default'),
  weeks: z.coerce.number().int().min(1).max(53).default(8),
});

@ApiTags('vehicles')
@Controller('v1/vehicles/:id')
export class VehicleEvidenceController {
  constructor(
    private readonly evidence: VehicleEvidenceReader,
    private readonly registry: Registry,
  ) {}

  @Get('evidence')
  @ApiOperation({ summary: 'Episodes with context, dwell, lowest and highest, standing week by week, early warnings' })
  @ApiOkResponse({ standardSchema: vehicleEvidenceSchema })
  read(@Param('id', { schema: id }) vehicle: string, @Query({ schema: weeks }) query: z.infer<typeof weeks>) {
    return this.evidence.read(vehicle, query.weeks, query.until);
  }

  @Get('notes')
  @ApiOperation({ summary: 'Notes about the vehicle, newest first' })
  @ApiOkResponse({ standardSchema: noteListSchema })
  async notes(@Param('id', { schema: id }) vehicle: string) {
    return { notes: await this.registry.notes.ofVehicle(vehicle) };
  }

  @Post('notes')
  @HttpCode(201)
  @ApiCreatedResponse({ standardSchema: noteSchema })
  async add(@Param('id', { schema: id }) vehicle: string, @Body({ schema: newNoteSchema }) { text, by }: NewNote) {
    found(await this.registry.vehicles.get(vehicle), `vehicle ${vehicle}`, 'vehicle_not_found');
    return this.registry.notes.add({ vehicle, upload: null, atMs: null, text, by });
  }

  @Delete('notes/:note')
  @HttpCode(204)
  @ApiOperation({ summary: 'Take away a note; what it said is kept' })
  @ApiNoContentResponse()
  async remove(
    @Param('id', { schema: id }) vehicle: string,
    @Param('note', { schema: note }) key: string,
    @Query({ schema: removerSchema }) { by }: z.infer<typeof removerSchema>,
  ): Promise<void> {
    found(await this.registry.notes.remove(key, { vehicle, upload: null }, by), `note ${key} about ${vehicle}`);
  }
}
