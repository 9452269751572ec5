import { Body, Controller, Get, HttpCode, Post } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  depotSchema,
  type Fleet,
  fleetSchema,
  profileSchema,
  recorderAssignmentSchema,
  vehicleSchema,
} from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import { z } from 'zod';

const version = z.object({ version: z.number().int() });
export const registeredFleetSchema = z.object({
  depots: z.array(depotSchema.extend(version.shape)),
  vehicles: z.array(vehicleSchema.extend(version.shape)),
  assignments: z.array(recorderAssignmentSchema),
  profiles: z.array(profileSchema.extend(version.shape)),
});
const counts = z.object({ added: z.number().int(), changed: z.number().int(), unchanged: z.number().int() });
export const fleetImportSchema = z.object({ depots: counts, vehicles: counts, assignments: counts, profiles: counts });

@ApiTags('fleet')
@Controller('v1/fleet')
export class FleetController {
  constructor(private readonly registry: Registry) {}

  @Get()
  @ApiOperation({ summary: 'Everything registered: depots, vehicles, recorder assignments, profiles' })
  @ApiOkResponse({ standardSchema: registeredFleetSchema })
  async read() {
    const { depots, vehicles, recorders, profiles } = this.registry;
    return {
      depots: await depots.list(),
      vehicles: await vehicles.list(),
      assignments: await recorders.list(),
      profiles: await profiles.list(),
    };
  }

  @Post()
  @HttpCode(200)
  @ApiOperation({ summary: 'Register a whole fleet: everything of the document or nothing; safe to repeat' })
  @ApiOkResponse({ standardSchema: fleetImportSchema })
  import(@Body({ schema: fleetSchema }) fleet: Fleet) {
    return this.registry.importFleet(fleet);
  }
}
