import './heap-growth.js';
import 'reflect-metadata';
import { classifyError } from '@tallybay/contracts';
import { startTraces, traceFields } from '@tallybay/trace';
import { pino } from 'pino';
import { createApiApp } from './api.app.js';
import { readApiConfig } from './api.config.js';
import { ApiRuntime } from './api.runtime.js';

try {
  const config = readApiConfig(process.env);
  const log = pino({ level: config.logLevel, base: { app: 'api' }, mixin: traceFields });
  await startTraces('tallybay-api', process.env);
  const runtime = await ApiRuntime.open(config, log);
  const app = await createApiApp(runtime);
  // The framework would otherwise end the process by the signal again, after an orderly stop.
  app.enableShutdownHooks(['SIGTERM', 'SIGINT'], { useProcessExit: true });
  await app.listen(config.port, config.host);
  void runtime.queries.start();
  log.info({ address: await app.getUrl(), home: config.home, ingest: config.ingestUrl }, 'api is listening');
} catch (thrown) {
  const error = classifyError(thrown);
  process.stderr.write(
    `api cannot start: ${error.message}${error.options.advice ? `\n${error.options.advice}` : ''}\n`,
  );
  process.exit(error.problem.exitCode);
}
