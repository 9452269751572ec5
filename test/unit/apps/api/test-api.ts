import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { pino } from 'pino';
import { onTestFinished } from 'vitest';
import { createApiApp } from '../../../../apps/api/src/api.app.js';
import { readApiConfig } from '../../../../apps/api/src/api.config.js';
import { ApiRuntime } from '../../../../apps/api/src/api.runtime.js';

export interface TestApi {
  app: NestFastifyApplication;
  runtime: ApiRuntime;
  /** Lines that were logged. */
  log: Record<string, unknown>[];
  call(method: string, path: string, body?: unknown, headers?: Record<string, string>): Promise<Answer>;
}

export interface Answer {
  status: number;
  type: string;
  headers: Record<string, unknown>;
  // biome-ignore lint/suspicious/noExplicitAny: tests look into bodies of every shape
  body: any;
}

/** The real app on a temporary home, not listening; closed when the test ends, or when `atEnd` says. */
export async function startApi(
  environment: Record<string, string> = {},
  nowMs?: () => number,
  atEnd: (work: () => Promise<void> | void) => void = onTestFinished,
): Promise<TestApi> {
  const home = mkdtempSync(join(tmpdir(), 'tallybay-api-'));
  atEnd(() => rmSync(home, { recursive: true, force: true }));
  const log: Record<string, unknown>[] = [];
  const logger = pino({}, { write: (line: string) => void log.push(JSON.parse(line) as Record<string, unknown>) });
  const config = readApiConfig({ TALLYBAY_HOME: home, TALLYBAY_RANK_ENABLED: 'false', ...environment });
  const runtime = await ApiRuntime.open(config, logger, nowMs);
  const app = await createApiApp(runtime);
  await app.init();
  await app.getHttpAdapter().getInstance().ready();
  atEnd(() => app.close());
  return { app, runtime, log, call: (method, path, body, headers) => call(app, { method, path, body, headers }) };
}

async function call(
  app: NestFastifyApplication,
  request: { method: string; path: string; body?: unknown; headers?: Record<string, string> },
): Promise<Answer> {
  const response = await app.inject({
    method: request.method as 'GET',
    url: request.path,
    headers: request.headers,
    ...(request.body === undefined ? {} : { payload: request.body as object }),
  });
  const type = String(response.headers['content-type'] ?? '');
  const body: unknown = type.includes('json') ? response.json() : response.payload;
  return { status: response.statusCode, type, headers: response.headers, body };
}
