import { Body, Controller, Delete, Get, Headers, HttpCode, Param, Put, Res } from '@nestjs/common';
import { ApiHeader, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type Depot, depotSchema } from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { expectedVersion, versioned } from '../http/version-headers.js';
import { registeredFleetSchema } from './fleet.controller.js';
import { found } from './found.js';
import { atItsAddress } from './path-record.js';

const id = depotSchema.shape.id;
const registered = registeredFleetSchema.shape.depots;

@ApiTags('fleet')
@Controller('v1/depots')
export class DepotsController {
  constructor(private readonly registry: Registry) {}

  @Get()
  @ApiOperation({ summary: 'Depots; the first gives the zone of the weekly schedule' })
  @ApiOkResponse({ standardSchema: z.object({ depots: registered }) })
  async list() {
    return { depots: await this.registry.depots.list() };
  }

  @Get(':id')
  @ApiOkResponse({ standardSchema: registered.element })
  async get(@Param('id', { schema: id }) key: string, @Res({ passthrough: true }) reply: FastifyReply) {
    return versioned(reply, found(await this.registry.depots.get(key), `depot ${key}`));
  }

  @Put(':id')
  @ApiHeader({ name: 'if-match', required: false, description: 'ETag of the version that was edited' })
  @ApiOkResponse({ standardSchema: registered.element })
  async put(
    @Param('id', { schema: id }) key: string,
    @Body({ schema: depotSchema }) depot: Depot,
    @Headers() headers: Record<string, string>,
    @Res({ passthrough: true }) reply: FastifyReply,
  ) {
    return versioned(reply, await this.registry.depots.upsert(atItsAddress(key, depot), expectedVersion(headers)));
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiNoContentResponse()
  async remove(@Param('id', { schema: id }) key: string): Promise<void> {
    found(await this.registry.depots.remove(key), `depot ${key}`);
  }
}
