import { Controller, Get } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type FleetReadiness, fleetReadinessSchema } from '@tallybay/contracts';
import { FleetReadinessReport } from './fleet-readiness.js';

@ApiTags('fleet')
@Controller('v1/fleet/readiness')
export class FleetReadinessController {
  constructor(private readonly report: FleetReadinessReport) {}

  @Get()
  @ApiOperation({ summary: 'Who would be refused or fail, by due date, and which codes return; the programme decides' })
  @ApiOkResponse({ standardSchema: fleetReadinessSchema })
  read(): Promise<FleetReadiness> {
    return this.report.read();
  }
}
