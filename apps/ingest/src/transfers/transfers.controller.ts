import { Controller, Delete, Get, HttpCode, Param, Patch, Post, Query, Req, Res } from '@nestjs/common';
import { TRANSFER_HEADERS, type Transfer, type TransferOpened, type UploadReceipt } from '@tallybay/contracts';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { logParameters } from '../http/log-parameters.js';
import { withBody } from '../http/raw-body.js';
import { IngestRuntime } from '../ingest.runtime.js';
import { UnderWay } from '../receive/under-way.js';
import { announcedBytes, announcedPiece } from './transfer-headers.js';
import { Transfers } from './transfers.js';

/** Logs in pieces: opened with digest and length, continued at the offset, ended as POST /v1/logs ends. */
@Controller('v1/transfers')
export class TransfersController {
  constructor(
    private readonly transfers: Transfers,
    private readonly underWay: UnderWay,
    private readonly runtime: IngestRuntime,
  ) {}

  @Post()
  async open(
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
    @Query() query: Record<string, unknown>,
  ): Promise<TransferOpened> {
    request.raw.resume();
    const parameters = logParameters(query, request.headers);
    const opened = await this.transfers.open(announcedBytes(request.headers), parameters);
    if ('upload' in opened) {
      void reply.status(200);
      return { transfer: null, upload: opened.upload };
    }
    const { transfer, fresh } = opened;
    void standing(reply, transfer)
      .status(fresh ? 201 : 200)
      .header('location', `/v1/transfers/${transfer.id}`);
    return { transfer, upload: null };
  }

  /** HEAD is answered by the same route, with the headers alone. */
  @Get(':id')
  async where(@Param('id') id: string, @Res({ passthrough: true }) reply: FastifyReply): Promise<Transfer> {
    const transfer = await this.transfers.find(id);
    standing(reply, transfer);
    return transfer;
  }

  @Patch(':id')
  async append(
    @Param('id') id: string,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<UploadReceipt | undefined> {
    const said = announcedPiece(request.headers);
    const cut = () => void request.raw.destroy();
    const after = await this.underWay
      .during(() => withBody(request.raw, (bytes) => this.transfers.append(id, { ...said, bytes, cut })))
      .catch((error) => this.explain(id, reply, error));
    if ('transfer' in after) {
      void standing(reply, after.transfer).status(204);
      return undefined;
    }
    const { id: uploadId, vehicle, bytes, duplicate } = after.upload;
    this.runtime.log.info({ requestId: request.id, uploadId, vehicle, bytes, duplicate }, 'upload received');
    void reply.status(duplicate ? 200 : 202).header(TRANSFER_HEADERS.complete, '?1');
    return after.upload;
  }

  @Delete(':id')
  @HttpCode(204)
  async drop(@Param('id') id: string): Promise<void> {
    await this.transfers.drop(id);
  }

  /** A refusal carries the right offset in its header, for those who go by headers. */
  private async explain(id: string, reply: FastifyReply, error: unknown): Promise<never> {
    const transfer = await this.transfers.find(id).catch(() => null);
    if (transfer) standing(reply, transfer);
    throw error;
  }
}

const standing = (reply: FastifyReply, { offset, length }: Transfer): FastifyReply =>
  reply
    .header(TRANSFER_HEADERS.offset, String(offset))
    .header(TRANSFER_HEADERS.length, String(length))
    .header(TRANSFER_HEADERS.complete, '?0')
    .header('cache-control', 'no-store');
