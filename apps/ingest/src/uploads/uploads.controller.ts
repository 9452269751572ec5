import { Readable } from 'node:stream';
import { Controller, Get, Header, HttpCode, Param, Post, Query, Req, StreamableFile } from '@nestjs/common';
import {
  parseContract,
  parseParameters,
  releaseSchema,
  TallybayError,
  type Upload,
  type UploadList,
  uploadStateSchema,
} from '@tallybay/contracts';
import { Registry, uploadFromRow } from '@tallybay/registry';
import type { FastifyRequest } from 'fastify';
import { z } from 'zod';
import { mustBeZone } from '../http/log-parameters.js';
import { readJson } from '../http/raw-body.js';
import { LandingStore } from '../receive/landing.js';
import { uploadIdOf } from '../receive/receipt.js';
import { Reprocess } from './reprocess.js';

const listSchema = z.object({
  state: uploadStateSchema.optional(),
  vehicle: z.string().min(1).optional(),
  kind: z.enum(['log', 'snapshot']).optional(),
  limit: z.coerce.number().int().min(1).max(1000).default(100),
  after: z.string().min(1).optional(),
});
const againSchema = z.object({ vehicle: z.string().min(1).max(80).optional() }).strict();

@Controller('v1')
export class UploadsController {
  constructor(
    private readonly registry: Registry,
    private readonly reprocess: Reprocess,
    private readonly landing: LandingStore,
  ) {}

  @Get('uploads')
  async list(@Query() query: Record<string, unknown>): Promise<UploadList> {
    const { after, ...filter } = parseParameters(listSchema, query);
    const rows = await this.registry.uploads.list({ ...filter, ...(after ? { before: after } : {}) });
    return { uploads: rows.map(uploadFromRow), next: rows.length === filter.limit ? rows[rows.length - 1]!.id : null };
  }

  @Get('uploads/by-hash/:sha256')
  async byHash(@Param('sha256') sha256: string): Promise<Upload> {
    return uploadFromRow(await this.reprocess.find(uploadIdOf(sha256)));
  }

  @Get('uploads/:id')
  async one(@Param('id') id: string): Promise<Upload> {
    return uploadFromRow(await this.reprocess.find(id));
  }

  /** The log exactly as it came (unpacked if it was gzip). */
  @Get('uploads/:id/raw')
  @Header('content-type', 'application/octet-stream')
  async raw(@Param('id') id: string): Promise<StreamableFile> {
    const upload = await this.reprocess.find(id);
    if (upload.landingFile === null) throw new TallybayError('landing_corrupt', `Upload ${id} has no stored bytes`);
    return new StreamableFile(Readable.from(this.landing.original(upload.landingFile)));
  }

  @Post('uploads/:id/release')
  @HttpCode(200)
  async release(@Param('id') id: string, @Req() request: FastifyRequest): Promise<Upload> {
    const release = parseContract(releaseSchema, await readJson(request.raw), 'body_invalid');
    if (release.timeZone) mustBeZone(release.timeZone);
    return uploadFromRow(await this.reprocess.release(id, release));
  }

  @Post('uploads/:id/decode-again')
  @HttpCode(202)
  async again(@Param('id') id: string, @Req() request: FastifyRequest): Promise<Upload> {
    const { vehicle } = parseContract(againSchema, await readJson(request.raw), 'body_invalid');
    return uploadFromRow(await this.reprocess.decodeAgain(id, vehicle));
  }
}
