import { Body, Controller, HttpCode, Post } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type LimitsTrial,
  type LimitsTrialRequest,
  limitsTrialRequestSchema,
  limitsTrialSchema,
} from '@tallybay/contracts';
import { LimitsTrials } from './limits-trial.js';

@ApiTags('settings')
@Controller('v1/limits')
export class LimitsTrialController {
  constructor(private readonly trials: LimitsTrials) {}

  @Post('trial')
  @HttpCode(200)
  @ApiOperation({ summary: 'What changed limits would have made of a past week; nothing is saved' })
  @ApiOkResponse({ standardSchema: limitsTrialSchema })
  run(@Body({ schema: limitsTrialRequestSchema }) request: LimitsTrialRequest): Promise<LimitsTrial> {
    return this.trials.run(request);
  }
}
