import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common';
import { problemFromUnknown } from '@tallybay/contracts';
import type { FastifyReply, FastifyRequest } from 'fastify';

export const PROBLEM_TYPE = 'application/problem+json; charset=utf-8';

/** The one place where an error becomes an answer (RFC 9457). */
@Catch()
export class ProblemFilter implements ExceptionFilter {
  catch(thrown: unknown, host: ArgumentsHost): void {
    const http = host.switchToHttp();
    sendProblem(thrown, http.getRequest<FastifyRequest>(), http.getResponse<FastifyReply>());
  }
}

/** Also for errors that never reach Nest, such as a body that is no JSON or a proxied service that is down. */
export function sendProblem(thrown: unknown, request: FastifyRequest, reply: FastifyReply): void {
  const { error, document, unexpected } = problemFromUnknown(thrown, request.url);
  if (unexpected) request.log.error({ err: error.options.cause, code: error.code }, 'request failed unexpectedly');
  else request.log.info({ code: error.code, detail: error.message }, 'request refused');
  void reply.status(document.status).header('content-type', PROBLEM_TYPE).send(JSON.stringify(document));
}
