import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { vehicleQualitySchema, vehicleResidualsSchema, vehicleSchema, vehicleWeeksSchema } from '@tallybay/contracts';
import { z } from 'zod';
import { VehicleResidualsReader } from './vehicle-residuals.js';
import { VehicleWeeksReader } from './vehicle-weeks.js';

const id = vehicleSchema.shape.id;
const until = z.string().max(12).optional().describe('last ISO week; the newest with data of the vehicle by default');
const span = z.object({ until, weeks: z.coerce.number().int().min(1).max(53).default(8) });
const upTo = z.object({ until });

@ApiTags('vehicles')
@Controller('v1/vehicles/:id')
export class VehicleWeeksController {
  constructor(
    private readonly weeks: VehicleWeeksReader,
    private readonly residuals: VehicleResidualsReader,
  ) {}

  @Get('weeks')
  @ApiOperation({ summary: 'Temperatures week by week: highest, mean, time at each stage, time in each value bin' })
  @ApiOkResponse({ standardSchema: vehicleWeeksSchema })
  byWeek(@Param('id', { schema: id }) vehicle: string, @Query({ schema: span }) query: z.infer<typeof span>) {
    return this.weeks.weeks(vehicle, query);
  }

  @Get('quality')
  @ApiOperation({ summary: 'What is known badly or not at all: sensors, gaps, values left out, uploads that failed' })
  @ApiOkResponse({ standardSchema: vehicleQualitySchema })
  quality(@Param('id', { schema: id }) vehicle: string, @Query({ schema: span }) query: z.infer<typeof span>) {
    return this.weeks.quality(vehicle, query);
  }

  @Get('residuals')
  @ApiOperation({
    summary: 'Temperatures above what each drive explains, against the class: what early warnings go by',
  })
  @ApiOkResponse({ standardSchema: vehicleResidualsSchema })
  read(@Param('id', { schema: id }) vehicle: string, @Query({ schema: upTo }) query: z.infer<typeof upTo>) {
    return this.residuals.read(vehicle, query.until);
  }
}
