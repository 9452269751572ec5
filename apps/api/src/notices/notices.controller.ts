import { Body, Controller, Get, Headers, HttpCode, Post, Query } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import { type NoticeList, noticeListSchema } from '@tallybay/contracts';
import { Registry } from '@tallybay/registry';
import { z } from 'zod';
import { editorOf } from '../plan/editor.js';

const filter = z.object({ unseen: z.enum(['true', 'false']).optional() });
const seenSchema = z.object({ ids: z.array(z.string().max(400)).max(500) }).strict();
const countSchema = z.object({ seen: z.number().int() });

@ApiTags('notices')
@Controller('v1/notices')
export class NoticesController {
  constructor(private readonly registry: Registry) {}

  @Get()
  @ApiOperation({ summary: 'What there is to know, newest first' })
  @ApiOkResponse({ standardSchema: noticeListSchema })
  async list(@Query({ schema: filter }) { unseen }: z.infer<typeof filter>): Promise<NoticeList> {
    const notices = await this.registry.notices.list({ unseen: unseen === 'true' });
    return {
      notices: notices.map(({ id, kind, vehicle, words, link, atMs, seenAtMs }) => ({
        ...{ id, kind, vehicle, words, link, at: new Date(atMs).toISOString(), seen: seenAtMs !== null },
      })),
    };
  }

  @Post('seen')
  @HttpCode(200)
  @ApiOkResponse({ standardSchema: countSchema })
  async seen(
    @Body({ schema: seenSchema }) { ids }: z.infer<typeof seenSchema>,
    @Headers() headers: Record<string, string>,
  ) {
    return { seen: await this.registry.notices.seen(ids, editorOf(headers)) };
  }
}
