import { Body, Controller, Delete, Get, Headers, HttpCode, Param, Put, Res } from '@nestjs/common';
import { ApiHeader, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type Profile, profileSchema } from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { expectedVersion, versioned } from '../http/version-headers.js';
import { registeredFleetSchema } from './fleet.controller.js';
import { found } from './found.js';
import { atItsAddress } from './path-record.js';

const id = profileSchema.shape.id;
const registered = registeredFleetSchema.shape.profiles;

@ApiTags('fleet')
@Controller('v1/profiles')
export class ProfilesController {
  constructor(private readonly registry: Registry) {}

  @Get()
  @ApiOperation({ summary: "Saved readings of recorders' logs" })
  @ApiOkResponse({ standardSchema: z.object({ profiles: registered }) })
  async list() {
    return { profiles: await this.registry.profiles.list() };
  }

  @Get(':id')
  @ApiOkResponse({ standardSchema: registered.element })
  async get(@Param('id', { schema: id }) key: string, @Res({ passthrough: true }) reply: FastifyReply) {
    return versioned(reply, found(await this.registry.profiles.get(key), `profile ${key}`));
  }

  @Put(':id')
  @ApiOperation({ summary: 'Save how the logs of one recorder are to be read' })
  @ApiHeader({ name: 'if-match', required: false, description: 'ETag of the version that was edited' })
  @ApiOkResponse({ standardSchema: registered.element })
  async put(
    @Param('id', { schema: id }) key: string,
    @Body({ schema: profileSchema }) profile: Profile,
    @Headers() headers: Record<string, string>,
    @Res({ passthrough: true }) reply: FastifyReply,
  ) {
    return versioned(reply, await this.registry.profiles.upsert(atItsAddress(key, profile), expectedVersion(headers)));
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiNoContentResponse()
  async remove(@Param('id', { schema: id }) key: string): Promise<void> {
    found(await this.registry.profiles.remove(key), `profile ${key}`);
  }
}
