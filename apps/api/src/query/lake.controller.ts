import { Controller, Get } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { lakeSizeSchema } from '@tallybay/contracts';
import { lakeSize } from '@tallybay/lake';
import { ApiRuntime } from '../api.runtime.js';
import { lastUpkeep } from '../upkeep/upkeep-record.js';

@ApiTags('query')
@Controller('v1/lake')
export class LakeController {
  constructor(private readonly runtime: ApiRuntime) {}

  @Get()
  @ApiOperation({ summary: 'How much the lake holds: files and bytes by table and vehicle, oldest and newest row' })
  @ApiOkResponse({ standardSchema: lakeSizeSchema })
  async size() {
    const { lakeDirectory } = this.runtime.config;
    return { ...(await lakeSize(lakeDirectory)), upkeep: lastUpkeep(lakeDirectory) };
  }
}
