import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';
import { traceRequests } from '@tallybay/trace';
import { ProblemFilter } from './http/problem.filter.js';
import { IngestModule } from './ingest.module.js';
import type { IngestRuntime } from './ingest.runtime.js';

/** The HTTP side of a runtime, not yet listening. */
export async function createIngestApp(runtime: IngestRuntime): Promise<NestFastifyApplication> {
  const adapter = new FastifyAdapter({
    bodyLimit: Number.MAX_SAFE_INTEGER,
    requestTimeout: 0,
    // The api in front passes its own request id on, so that one id follows a request through both logs.
    requestIdHeader: 'x-request-id',
    forceCloseConnections: true,
  });
  // Bodies of any size and type are read by the receivers themselves, straight from the socket.
  const fastify = adapter.getInstance();
  fastify.removeAllContentTypeParsers();
  fastify.addContentTypeParser('*', (_request, _payload, done) => done(null));
  const app = await NestFactory.create<NestFastifyApplication>(IngestModule.of(runtime), adapter, {
    bodyParser: false,
    logger: ['error', 'warn'],
    abortOnError: false,
  });
  traceRequests(fastify as never);
  app.useGlobalFilters(new ProblemFilter(runtime.log, runtime.refusals));
  // A stop that was asked for is a good end, not a death by signal.
  app.enableShutdownHooks(['SIGTERM', 'SIGINT'], { useProcessExit: true });
  return app;
}
