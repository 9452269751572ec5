// OTLP/HTTP with JSON bodies: OpenTelemetry protocol specification 1.x; traceparent: W3C Trace Context, section 3.2.
import { mkdtempSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ApiProcess } from '../../service/api-process.js';
import { IngestService } from '../../service/ingest-service.js';

interface Span {
  service: string;
  name: string;
  traceId: string;
  spanId: string;
  parentSpanId?: string;
  kind: number;
  status: { code?: number };
}
interface Export {
  resourceSpans: {
    resource: { attributes: { key: string; value: { stringValue?: string } }[] };
    scopeSpans: { spans: Omit<Span, 'service'>[] }[];
  }[];
}

const TRACE = '0af7651916cd43dd8448eb211c80319c';
const CALLER = 'b7ad6b7169203331';
const traceparent = `00-${TRACE}-${CALLER}-01`;

describe('traces', () => {
  const spans: Span[] = [];
  const collector = createServer(async (request, response) => {
    const parts: Buffer[] = [];
    for await (const part of request) parts.push(part as Buffer);
    for (const { resource, scopeSpans } of (JSON.parse(Buffer.concat(parts).toString()) as Export).resourceSpans) {
      const service = resource.attributes.find(({ key }) => key === 'service.name')?.value.stringValue ?? '';
      spans.push(...scopeSpans.flatMap((scope) => scope.spans.map((span) => ({ ...span, service }))));
    }
    response.writeHead(200, { 'content-type': 'application/json' }).end('{}');
  });
  let ingest: IngestService;
  let api: ApiProcess;
  const of = (name: string) => spans.filter((span) => span.traceId === TRACE && span.name === name);

  beforeAll(async () => {
    await new Promise<void>((resolve) => collector.listen(0, '127.0.0.1', resolve));
    const endpoint = `http://127.0.0.1:${(collector.address() as AddressInfo).port}`;
    const traced = { OTEL_EXPORTER_OTLP_ENDPOINT: endpoint, OTEL_BSP_SCHEDULE_DELAY: '100' };
    const home = mkdtempSync(join(tmpdir(), 'tallybay-traces-'));
    ingest = await IngestService.start(home, ['KV-1'], { ...traced, TALLYBAY_LOG_LEVEL: 'info' });
    api = await ApiProcess.start(ingest.home, ingest.url, traced);
  });
  afterAll(async () => {
    await api?.stop();
    await ingest?.stop();
    collector.close();
  });

  it('one upload is one trace, from the caller through both services, the stream and the lake', async () => {
    const rows = Array.from({ length: 60 }, (_, at) => `2026-09-01T08:00:${String(at).padStart(2, '0')}Z,90,${at}`);
    const answer = await fetch(`${api.url}/v1/logs?vehicle=KV-1`, {
      method: 'POST',
      headers: { 'content-type': 'text/csv', traceparent },
      body: ['time,coolant temperature (degC),vehicle speed (km/h)', ...rows].join('\n'),
    });
    expect(answer.status).toBe(202);
    await ingest.untilStored(1);
    await expect.poll(() => of('store upload').length, { timeout: 5_000 }).toBe(1);
    await expect.poll(() => of('decode upload').length, { timeout: 5_000 }).toBe(1);
    await expect.poll(() => spans.filter(({ traceId, kind }) => traceId === TRACE && kind === 2).length).toBe(2);

    const servers = spans.filter(({ traceId, kind }) => traceId === TRACE && kind === 2);
    const front = servers.find(({ service }) => service === 'tallybay-api');
    const behind = servers.find(({ service }) => service === 'tallybay-ingest');
    const [publish] = of('publish upload');
    const [decode] = of('decode upload');
    const [store] = of('store upload');
    expect(front?.parentSpanId).toBe(CALLER);
    expect(behind?.parentSpanId).toBe(front?.spanId);
    expect(publish?.parentSpanId).toBe(behind?.spanId);
    expect(decode?.parentSpanId).toBe(publish?.spanId);
    expect(store?.parentSpanId).toBe(decode?.spanId);
    const line = ingest.log.split('\n').find((text) => text.includes('"upload stored"'));
    expect(JSON.parse(line ?? '{}')).toMatchObject({ traceId: TRACE, spanId: store?.spanId });
  });

  it('a question is a child of its request, and fails with it', async () => {
    const ask = (sql: string) =>
      fetch(`${api.url}/v1/query`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', traceparent },
        body: JSON.stringify({ sql }),
      });
    expect((await ask('SELECT 1 AS one')).status).toBe(200);
    expect((await ask('SELECT nothing')).status).toBe(422);
    await expect.poll(() => of('query').length, { timeout: 5_000 }).toBe(2);
    const requests = of('POST /v1/query').map(({ spanId }) => spanId);
    expect(requests).toHaveLength(2);
    for (const { parentSpanId } of of('query')) expect(requests).toContain(parentSpanId);
    expect(of('query').map(({ status }) => status.code ?? 0)).toEqual([0, 2]);
  });

  it('what machines ask every few seconds is left out', () => {
    expect(spans.filter(({ name }) => name.includes('health'))).toEqual([]);
  });
});
