import { Body, Controller, Delete, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiCreatedResponse, ApiNoContentResponse, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type RecorderAssignment, recorderAssignmentSchema } from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import { z } from 'zod';
import { found } from './found.js';

const { recorder, vehicle, from } = recorderAssignmentSchema.shape;
const filter = z.object({ vehicle: vehicle.optional() });
const assignment = recorderAssignmentSchema.omit({ recorder: true });
const listSchema = z.object({ assignments: z.array(recorderAssignmentSchema) });

@ApiTags('fleet')
@Controller('v1/recorders')
export class RecordersController {
  constructor(private readonly registry: Registry) {}

  @Get()
  @ApiOperation({ summary: 'Which recorder sat in which vehicle since when' })
  @ApiOkResponse({ standardSchema: listSchema })
  async list(@Query({ schema: filter }) query: z.infer<typeof filter>) {
    return { assignments: await this.registry.recorders.list(query) };
  }

  @Get(':recorder/assignments')
  @ApiOkResponse({ standardSchema: listSchema })
  async history(@Param('recorder', { schema: recorder }) serial: string) {
    return { assignments: await this.registry.recorders.list({ recorder: serial }) };
  }

  @Post(':recorder/assignments')
  @ApiOperation({ summary: 'The recorder sits in this vehicle from an instant on; the same instant again corrects it' })
  @ApiCreatedResponse({ standardSchema: recorderAssignmentSchema })
  async assign(
    @Param('recorder', { schema: recorder }) serial: string,
    @Body({ schema: assignment }) body: z.infer<typeof assignment>,
  ): Promise<RecorderAssignment> {
    const whole = { recorder: serial, vehicle: body.vehicle, from: new Date(body.from).toISOString() };
    await this.registry.recorders.assign(whole);
    return whole;
  }

  @Delete(':recorder/assignments/:from')
  @HttpCode(204)
  @ApiOperation({ summary: 'Take back an assignment made by mistake' })
  @ApiNoContentResponse()
  async remove(
    @Param('recorder', { schema: recorder }) serial: string,
    @Param('from', { schema: from }) instant: string,
  ): Promise<void> {
    const removed = await this.registry.recorders.remove(serial, Date.parse(instant));
    found(removed, `assignment of recorder ${serial} from ${instant}`);
  }
}
