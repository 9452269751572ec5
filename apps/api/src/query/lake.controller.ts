import { Controller, Get } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { lakeSizeSchema } from '@tallybay/contracts';
import { lakeSize } from '@tallybay/lake';
import { ApiRuntime } from '../api.runtime.js';

@ApiTags('query')
@Controller('v1/lake')
export class LakeController {
  constructor(private readonly runtime: ApiRuntime) {}

  @Get()
  @ApiOperation({ summary: 'How much the lake holds: files and bytes by table and vehicle, oldest and newest row' })
  @ApiOkResponse({ standardSchema: lakeSizeSchema })
  size() {
    return lakeSize(this.runtime.config.lakeDirectory);
  }
}
