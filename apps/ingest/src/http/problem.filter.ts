import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common';
import { problemFromUnknown } from '@tallybay/contracts';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Logger } from 'pino';
import type { Refusals } from '../health/refusals.js';

/** Every error leaves as application/problem+json (RFC 9457). */
@Catch()
export class ProblemFilter implements ExceptionFilter {
  constructor(
    private readonly log: Logger,
    private readonly refusals: Refusals,
  ) {}

  catch(thrown: unknown, host: ArgumentsHost): void {
    const http = host.switchToHttp();
    const request = http.getRequest<FastifyRequest>();
    const reply = http.getResponse<FastifyReply>();
    const { error, document, unexpected } = problemFromUnknown(thrown, request.url);
    this.refusals.count(error.code);
    const fields = { requestId: request.id, code: error.code, detail: error.message };
    if (unexpected) this.log.error({ ...fields, err: error.options.cause ?? error }, 'request failed');
    else this.log.info(fields, 'request refused');
    // A sender that is still sending reads the answer only afterwards: what is left of the body is read and dropped.
    request.raw.resume();
    void reply
      .status(document.status)
      .header('content-type', 'application/problem+json; charset=utf-8')
      .send(JSON.stringify(document));
  }
}
