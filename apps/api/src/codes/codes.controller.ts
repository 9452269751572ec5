import { Controller, Get, Query } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type FleetCodes, fleetCodesSchema, vehicleSchema } from '@tallybay/contracts';
import { z } from 'zod';
import { FleetCodesReport } from './fleet-codes.js';

const filters = z.object({
  class: vehicleSchema.shape.vehicleClass.optional().describe('only vehicles of this class'),
  depot: vehicleSchema.shape.depot.optional().describe('only vehicles of this depot'),
  route: vehicleSchema.shape.route.describe('only vehicles of this route'),
});

@ApiTags('codes')
@Controller('v1/codes')
export class CodesController {
  constructor(private readonly report: FleetCodesReport) {}

  @Get()
  @ApiOperation({ summary: 'Trouble codes of the fleet: which return where, which come together, which spread' })
  @ApiOkResponse({ standardSchema: fleetCodesSchema })
  read(@Query({ schema: filters }) query: z.infer<typeof filters>): Promise<FleetCodes> {
    const { class: vehicleClass = null, depot = null, route = null } = query;
    return this.report.read({ vehicleClass, depot, route });
  }
}
