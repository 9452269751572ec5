import './heap-growth.js';
import 'reflect-metadata';
import { classifyError } from '@tallybay/contracts';
import { startTraces, traceFields } from '@tallybay/trace';
import { pino } from 'pino';
import { createIngestApp } from './ingest.app.js';
import { readIngestConfig } from './ingest.config.js';
import { IngestRuntime } from './ingest.runtime.js';

try {
  const config = readIngestConfig(process.env);
  const log = pino({ level: config.logLevel, base: { app: 'ingest' }, mixin: traceFields });
  await startTraces('tallybay-ingest', process.env);
  const runtime = await IngestRuntime.open(config, log);
  const app = await createIngestApp(runtime);
  await app.listen(config.port, config.host);
  log.info({ address: await app.getUrl(), role: config.role, home: config.home }, 'ingest is listening');
} catch (thrown) {
  const error = classifyError(thrown);
  process.stderr.write(
    `ingest cannot start: ${error.message}${error.options.advice ? ` ${error.options.advice}` : ''}\n`,
  );
  process.exit(error.problem.exitCode);
}
