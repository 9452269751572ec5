import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  driveListSchema,
  vehicleCodesSchema,
  vehicleHeatSchema,
  vehicleReadinessSchema,
  vehicleSchema,
} from '@tallybay/contracts';
import { z } from 'zod';
import { VehicleHistory } from './vehicle-history.js';

/** The last instant that a JavaScript date can hold (ECMA-262, section 21.4.1.1). */
const END_OF_TIME_MS = 8.64e15;

const id = vehicleSchema.shape.id;
const instant = z.iso.datetime({ offset: true }).transform((text) => Date.parse(text));
const span = z.object({
  from: instant.optional().describe('first instant, RFC 3339'),
  to: instant.optional().describe('end, exclusive'),
  limit: z.coerce.number().int().min(1).max(1000).default(100),
});
const weeks = z.object({
  until: z.string().max(12).optional().describe('last ISO week; the current one by default'),
  weeks: z.coerce.number().int().min(1).max(53).default(8),
});

@ApiTags('vehicles')
@Controller('v1/vehicles/:id')
export class VehicleHistoryController {
  constructor(private readonly history: VehicleHistory) {}

  @Get('drives')
  @ApiOperation({ summary: 'Drives, newest first' })
  @ApiOkResponse({ standardSchema: driveListSchema })
  drives(@Param('id', { schema: id }) key: string, @Query({ schema: span }) query: z.infer<typeof span>) {
    const { from = 0, to = END_OF_TIME_MS, limit } = query;
    return this.history.drives(key, { fromMs: from, toMs: to, limit });
  }

  @Get('heat')
  @ApiOperation({ summary: 'Time and degree-minutes at or above each stage, by week' })
  @ApiOkResponse({ standardSchema: vehicleHeatSchema })
  heat(@Param('id', { schema: id }) key: string, @Query({ schema: weeks }) query: z.infer<typeof weeks>) {
    return this.history.heat(key, query.weeks, query.until);
  }

  @Get('codes')
  @ApiOperation({ summary: 'Trouble codes: active spans, clears, returns' })
  @ApiOkResponse({ standardSchema: vehicleCodesSchema })
  codes(@Param('id', { schema: id }) key: string) {
    return this.history.codes(key);
  }

  @Get('readiness')
  @ApiOperation({ summary: 'Emissions readiness under each named programme; the local programme decides' })
  @ApiOkResponse({ standardSchema: vehicleReadinessSchema })
  readiness(@Param('id', { schema: id }) key: string) {
    return this.history.readiness(key);
  }
}
