import { Body, Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOkResponse, ApiOperation, ApiTags } from '@nestjs/swagger';
import {
  type Ranking,
  type RankingList,
  type RankingPreview,
  type RankingPreviewRequest,
  rankingListSchema,
  rankingPreviewRequestSchema,
  rankingPreviewSchema,
  rankingSchema,
} from '@tallybay/contracts';
import { z } from 'zod';
import { RankingPreviews } from './ranking-preview.js';
import { Rankings } from './rankings.js';

const week = z.string().max(12).describe('ISO week such as `2026-W41`, or `latest`');
const kept = z.object({
  revision: z.coerce.number().int().min(1).optional().describe('a kept revision; the newest by default'),
});

@ApiTags('rankings')
@Controller('v1/rankings')
export class RankingsController {
  constructor(
    private readonly rankings: Rankings,
    private readonly previews: RankingPreviews,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Every published ranking: weeks and revisions' })
  @ApiOkResponse({ standardSchema: rankingListSchema })
  list(): Promise<RankingList> {
    return this.rankings.list();
  }

  @Get(':week')
  @ApiOperation({ summary: "A week's ranking with reasons; it ranks work, it clears no vehicle as safe to drive" })
  @ApiOkResponse({ standardSchema: rankingSchema })
  read(
    @Param('week', { schema: week }) name: string,
    @Query({ schema: kept }) { revision }: z.infer<typeof kept>,
  ): Promise<Ranking> {
    return this.rankings.read(name, revision);
  }

  @Post('preview')
  @HttpCode(200)
  @ApiOperation({ summary: 'What other weights, limits or exclusions would have made of past weeks; nothing is saved' })
  @ApiOkResponse({ standardSchema: rankingPreviewSchema })
  preview(@Body({ schema: rankingPreviewRequestSchema }) request: RankingPreviewRequest): Promise<RankingPreview> {
    return this.previews.run(request);
  }

  @Post(':week')
  @HttpCode(200)
  @ApiOperation({ summary: 'Rank a week now; a new revision is kept only if it says something new' })
  @ApiOkResponse({ standardSchema: rankingSchema })
  run(@Param('week', { schema: week }) name: string): Promise<Ranking> {
    return this.rankings.run(name);
  }
}
