import { Controller, Get, Header, Query } from '@nestjs/common';
import { ApiOperation, ApiProduces, ApiTags } from '@nestjs/swagger';
import { lakeSql } from '@tallybay/lake';
import { z } from 'zod';
import { ApiRuntime } from '../api.runtime.js';

const query = z.object({ directory: z.string().min(1).max(4_000).optional() });

@ApiTags('query')
@Controller('v1/lake.sql')
export class LakeSqlController {
  constructor(private readonly runtime: ApiRuntime) {}

  @Get()
  @Header('content-type', 'application/sql; charset=utf-8')
  @ApiProduces('application/sql')
  @ApiOperation({
    summary: 'A script that opens the lake with the DuckDB command line; `directory` where it lies for the reader',
  })
  script(@Query({ schema: query }) { directory }: z.infer<typeof query>): string {
    return lakeSql(directory ?? this.runtime.config.lakeDirectory);
  }
}
