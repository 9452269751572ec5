import { Body, Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiCreatedResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type CrossingsTrialRequest,
  crossingsTrialRequestSchema,
  crossingsTrialSchema,
  extremesResetSchema,
  fleetCrossingsSchema,
  type NewExtremesReset,
  newExtremesResetSchema,
  vehicleCrossingsSchema,
  vehicleExtremesSchema,
  vehicleSchema,
} from '@tallybay/contracts';
import { z } from 'zod';
import { Crossings } from './crossings.js';
import { CrossingsTrials } from './crossings-trial.js';
import { Extremes } from './extremes.js';

/** The last instant that a JavaScript date can hold (ECMA-262, section 21.4.1.1). */
const END_OF_TIME_MS = 8.64e15;

const id = vehicleSchema.shape.id;
const instant = z.iso.datetime({ offset: true }).transform((text) => Date.parse(text));
const span = z.object({
  from: instant.optional().describe('crossings that end at or after it, RFC 3339'),
  to: instant.optional().describe('crossings that start before it'),
  limit: z.coerce.number().int().min(1).max(2000).default(500),
});
const spanOf = ({ from = 0, to = END_OF_TIME_MS, limit }: z.infer<typeof span>) => ({ fromMs: from, toMs: to, limit });

@ApiTags('limits')
@Controller('v1')
export class LimitsController {
  constructor(
    private readonly crossings: Crossings,
    private readonly extremes: Extremes,
    private readonly trials: CrossingsTrials,
  ) {}

  @Get('crossings')
  @ApiOperation({ summary: 'What uploads of the whole fleet had beyond the limits in force, newest first' })
  @ApiOkResponse({ standardSchema: fleetCrossingsSchema })
  fleet(@Query({ schema: span }) query: z.infer<typeof span>) {
    return this.crossings.ofFleet(spanOf(query));
  }

  @Get('vehicles/:id/crossings')
  @ApiOperation({ summary: 'What uploads of a vehicle had beyond the limits in force, newest first' })
  @ApiOkResponse({ standardSchema: vehicleCrossingsSchema })
  vehicle(@Param('id', { schema: id }) key: string, @Query({ schema: span }) query: z.infer<typeof span>) {
    return this.crossings.ofVehicle(key, spanOf(query));
  }

  @Post('limits/crossings-trial')
  @HttpCode(200)
  @ApiOperation({ summary: 'What changed limits on any signal would have found in a past week; nothing is saved' })
  @ApiOkResponse({ standardSchema: crossingsTrialSchema })
  trial(@Body({ schema: crossingsTrialRequestSchema }) request: CrossingsTrialRequest) {
    return this.trials.run(request);
  }

  @Get('vehicles/:id/extremes')
  @ApiOperation({
    summary: 'Lowest and highest of every signal since they were last set back, and every time they were',
  })
  @ApiOkResponse({ standardSchema: vehicleExtremesSchema })
  lowestAndHighest(@Param('id', { schema: id }) key: string) {
    return this.extremes.read(key);
  }

  @Post('vehicles/:id/extremes/resets')
  @HttpCode(201)
  @ApiOperation({ summary: 'Set lowest and highest back, with who and why; what was before is kept in the lake' })
  @ApiCreatedResponse({ standardSchema: extremesResetSchema })
  reset(@Param('id', { schema: id }) key: string, @Body({ schema: newExtremesResetSchema }) body: NewExtremesReset) {
    return this.extremes.reset(key, body);
  }
}
