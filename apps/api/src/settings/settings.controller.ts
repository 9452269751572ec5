import { Body, Controller, Get, Headers, Param, Put, Res } from '@nestjs/common';
import { ApiHeader, ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type SettingDocument, settingSchema } from '@tallybay/contracts';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { expectedVersion, versioned } from '../http/version-headers.js';
import { EditedSettings } from './edited-settings.js';

const name = z.string().min(1).max(80);
const document = z.union([z.array(z.unknown()), z.record(z.string(), z.unknown())]);
const editor = z.string().min(1).max(120).optional();
const listSchema = z.object({ settings: z.array(settingSchema) });

@ApiTags('settings')
@Controller('v1/settings')
export class SettingsController {
  constructor(private readonly settings: EditedSettings) {}

  @Get()
  @ApiOperation({ summary: 'Every setting; version 0 is the default that nobody has edited' })
  @ApiOkResponse({ standardSchema: listSchema })
  async list() {
    return { settings: await this.settings.list() };
  }

  @Get(':name')
  @ApiOkResponse({ standardSchema: settingSchema })
  async get(@Param('name', { schema: name }) key: string, @Res({ passthrough: true }) reply: FastifyReply) {
    return versioned(reply, await this.settings.get(key));
  }

  @Get(':name/history')
  @ApiOperation({ summary: 'Every version with when and by whom, newest first' })
  @ApiOkResponse({ standardSchema: listSchema })
  async history(@Param('name', { schema: name }) key: string) {
    return { settings: await this.settings.history(key) };
  }

  @Put(':name')
  @ApiOperation({ summary: 'Edit a setting; used from the next ranking on' })
  @ApiHeader({ name: 'if-match', required: false, description: 'ETag of the version that was edited' })
  @ApiHeader({ name: 'x-tallybay-editor', required: false, description: 'who edits, kept in the history' })
  @ApiOkResponse({ standardSchema: settingSchema })
  async put(
    @Param('name', { schema: name }) key: string,
    @Body({ schema: document }) body: unknown,
    @Headers() headers: Record<string, string>,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<SettingDocument> {
    const by = editor.catch(undefined).parse(headers['x-tallybay-editor']);
    return versioned(reply, await this.settings.put(key, body, { ...expectedVersion(headers), by }));
  }
}
