import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';
import { traceRequests } from '@tallybay/trace';
import { LogController } from 'fastify';
import { apiModule } from './api.module.js';
import type { ApiRuntime } from './api.runtime.js';
import { ContractPipe } from './http/contract.pipe.js';
import { NestLogger } from './http/nest-logger.js';
import { openApiDocument } from './http/openapi.js';
import { ProblemFilter } from './http/problem.filter.js';
import { REQUEST_ID_HEADER, requestIdOf } from './http/request-id.js';
import { registerReceiveProxy } from './receive/receive.proxy.js';
import { registerWebPage } from './web/web.routes.js';

/** A fleet document of 10,000 vehicles with their recorders is about 4 MB. Logs pass through the proxy without a limit. */
const MAX_JSON_BYTES = 32 * 1024 ** 2;

/** An idle connection holds up an orderly stop no longer than this. */
const KEEP_ALIVE_MS = 5_000;

/** The HTTP side of a runtime, not yet listening; `init()` starts the runtime's schedule. */
export async function createApiApp(runtime: ApiRuntime): Promise<NestFastifyApplication> {
  const adapter = new FastifyAdapter({
    loggerInstance: runtime.log,
    genReqId: requestIdOf,
    // The name that the receiving side's log uses too.
    logController: new LogController({ requestIdLogLabel: 'requestId' }),
    bodyLimit: MAX_JSON_BYTES,
    routerOptions: { maxParamLength: 500 },
    // Node would end a request after five minutes; a log from a slow depot line takes longer.
    requestTimeout: 0,
    keepAliveTimeout: KEEP_ALIVE_MS,
  });
  const app = await NestFactory.create<NestFastifyApplication>(apiModule(runtime), adapter, {
    logger: new NestLogger(runtime.log),
    abortOnError: false,
  });
  app.useGlobalFilters(new ProblemFilter());
  app.useGlobalPipes(new ContractPipe());
  const fastify = adapter.getInstance();
  fastify.addHook('onRequest', async (request, reply) => {
    void reply.header(REQUEST_ID_HEADER, request.id);
    if (runtime.readiness.draining) void reply.header('connection', 'close');
  });
  traceRequests(fastify as never);
  runtime.requests.watch(fastify as never);
  await registerReceiveProxy(fastify as never, runtime.config.ingestUrl);
  registerWebPage(fastify as never);
  const description = openApiDocument(app);
  fastify.get('/openapi.json', async () => description);
  return app;
}
