import { Body, Controller, Delete, Get, Headers, HttpCode, Param, Put, Query, Res } from '@nestjs/common';
import { ApiHeader, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type Vehicle, vehicleSchema } from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { expectedVersion, versioned } from '../http/version-headers.js';
import { registeredFleetSchema } from './fleet.controller.js';
import { found } from './found.js';
import { atItsAddress } from './path-record.js';

const id = vehicleSchema.shape.id;
const filter = z.object({
  depot: z.string().optional(),
  vehicleClass: z.string().optional(),
  route: z.string().optional(),
});
const registered = registeredFleetSchema.shape.vehicles;

@ApiTags('fleet')
@Controller('v1/vehicles')
export class VehiclesController {
  constructor(private readonly registry: Registry) {}

  @Get()
  @ApiOperation({ summary: 'Vehicles, of one depot, class or route where given' })
  @ApiOkResponse({ standardSchema: z.object({ vehicles: registered }) })
  async list(@Query({ schema: filter }) query: z.infer<typeof filter>) {
    return { vehicles: await this.registry.vehicles.list(query) };
  }

  @Get(':id')
  @ApiOkResponse({ standardSchema: registered.element })
  async get(@Param('id', { schema: id }) key: string, @Res({ passthrough: true }) reply: FastifyReply) {
    return versioned(reply, found(await this.registry.vehicles.get(key), `vehicle ${key}`, 'vehicle_not_found'));
  }

  @Put(':id')
  @ApiHeader({ name: 'if-match', required: false, description: 'ETag of the version that was edited' })
  @ApiOkResponse({ standardSchema: registered.element })
  async put(
    @Param('id', { schema: id }) key: string,
    @Body({ schema: vehicleSchema }) vehicle: Vehicle,
    @Headers() headers: Record<string, string>,
    @Res({ passthrough: true }) reply: FastifyReply,
  ) {
    return versioned(reply, await this.registry.vehicles.upsert(atItsAddress(key, vehicle), expectedVersion(headers)));
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiOperation({ summary: 'Unregister a vehicle; its history in the lake stays' })
  @ApiNoContentResponse()
  async remove(@Param('id', { schema: id }) key: string): Promise<void> {
    found(await this.registry.vehicles.remove(key), `vehicle ${key}`, 'vehicle_not_found');
  }
}
