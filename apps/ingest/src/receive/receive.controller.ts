import { Controller, Post, Query, Req, Res } from '@nestjs/common';
import type { UploadReceipt } from '@tallybay/contracts';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { logParameters } from '../http/log-parameters.js';
import { readBody, withBody } from '../http/raw-body.js';
import { IngestRuntime } from '../ingest.runtime.js';
import { LogReceiver } from './log-receiver.js';
import { SnapshotReceiver } from './snapshot-receiver.js';
import { UnderWay } from './under-way.js';

const MAX_SNAPSHOT_BYTES = 4 << 20;

/** 202 with the upload's id once landing and stream have it; 200 with the first id for bytes seen before. */
@Controller('v1')
export class ReceiveController {
  constructor(
    private readonly logs: LogReceiver,
    private readonly snapshots: SnapshotReceiver,
    private readonly underWay: UnderWay,
    private readonly runtime: IngestRuntime,
  ) {}

  @Post('logs')
  async log(
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
    @Query() query: Record<string, unknown>,
  ): Promise<UploadReceipt> {
    const parameters = logParameters(query, request.headers);
    const receipt = await this.underWay.during(() =>
      withBody(request.raw, (body) => this.logs.receive(body, parameters)),
    );
    return this.answer(request, reply, receipt);
  }

  @Post('snapshots')
  async snapshot(
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
    @Query() query: Record<string, unknown>,
  ): Promise<UploadReceipt> {
    const { fileName } = logParameters(query, request.headers);
    const receipt = await this.underWay.during(async () =>
      this.snapshots.receive(await readBody(request.raw, MAX_SNAPSHOT_BYTES), fileName ?? null),
    );
    return this.answer(request, reply, receipt);
  }

  /** From here on the log knows the upload by its id; this line says which request brought it. */
  private answer(request: FastifyRequest, reply: FastifyReply, receipt: UploadReceipt): UploadReceipt {
    const { id, vehicle, bytes, duplicate } = receipt;
    this.runtime.log.info({ requestId: request.id, uploadId: id, vehicle, bytes, duplicate }, 'upload received');
    void reply.status(duplicate ? 200 : 202);
    return receipt;
  }
}
