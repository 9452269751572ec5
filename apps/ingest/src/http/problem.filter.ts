import { type ArgumentsHost, Catch, type ExceptionFilter, HttpException } from '@nestjs/common';
import { classifyError, TallybayError } from '@tallybay/contracts';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Logger } from 'pino';

/** Every error leaves as application/problem+json (RFC 9457). */
@Catch()
export class ProblemFilter implements ExceptionFilter {
  constructor(private readonly log: Logger) {}

  catch(thrown: unknown, host: ArgumentsHost): void {
    const http = host.switchToHttp();
    const request = http.getRequest<FastifyRequest>();
    const reply = http.getResponse<FastifyReply>();
    const error = fromNest(thrown, request);
    if (error.problem.disposition === 'halt')
      this.log.error({ err: error.options.cause ?? error, requestId: request.id }, error.message);
    else this.log.info({ code: error.code, requestId: request.id }, error.message);
    const document = error.toDocument(request.url);
    if (error.code === 'internal') document.detail = `See the log for request ${request.id}`;
    // The rest of an unread body would be taken for the next request on this connection.
    if (!request.raw.readableEnded) void reply.header('connection', 'close');
    void reply
      .status(document.status)
      .header('content-type', 'application/problem+json; charset=utf-8')
      .send(JSON.stringify(document));
  }
}

function fromNest(thrown: unknown, request: FastifyRequest): TallybayError {
  if (thrown instanceof HttpException && thrown.getStatus() === 404)
    return new TallybayError('route_unknown', `There is nothing at ${request.method} ${request.url}`, {
      advice: 'See /openapi.json for what there is.',
    });
  if (thrown instanceof HttpException && thrown.getStatus() < 500)
    return new TallybayError('parameter_invalid', thrown.message, { cause: thrown });
  return classifyError(thrown);
}
