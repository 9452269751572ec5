import { createHash, randomBytes } from 'node:crypto';
import { createServer, request as httpRequest, type IncomingMessage, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { describe, expect, it, onTestFinished } from 'vitest';
import { startApi } from '../../unit/apps/api/test-api.js';

type Handler = Parameters<typeof createServer>[1] & object;

/** Something that speaks HTTP in ingest's place; what the proxy does with bodies does not depend on who answers. */
async function upstream(handler: Handler): Promise<string> {
  const server: Server = createServer(handler);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => {
    server.closeAllConnections();
    server.close();
  });
  return `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
}

async function listeningApi(ingestUrl: string): Promise<URL> {
  const { app } = await startApi({ TALLYBAY_INGEST_URL: ingestUrl });
  await app.listen(0, '127.0.0.1');
  return new URL(await app.getUrl());
}

async function text(message: IncomingMessage): Promise<string> {
  const parts: Buffer[] = [];
  for await (const part of message) parts.push(part as Buffer);
  return Buffer.concat(parts).toString();
}

const CHUNK = randomBytes(1 << 20);

describe('uploads through api', () => {
  it('pass whole, with query and headers, and no faster than ingest reads', async () => {
    const chunks = 100;
    const reading = Promise.withResolvers<void>();
    const url = await listeningApi(
      await upstream(async (request, response) => {
        const hash = createHash('sha256');
        let bytes = 0;
        await reading.promise;
        for await (const part of request as AsyncIterable<Buffer>) {
          hash.update(part);
          bytes += part.length;
        }
        const { url, headers } = request;
        response.writeHead(202, { 'content-type': 'application/json' });
        response.end(JSON.stringify({ url, headers, bytes, sha256: hash.digest('hex') }));
      }),
    );
    const expected = createHash('sha256');
    for (let count = 0; count < chunks; count++) expected.update(CHUNK);
    let taken = 0;
    let takenUnread = chunks;
    async function* body() {
      for (; taken < chunks; taken++) yield CHUNK;
    }
    setTimeout(() => {
      // By now only the buffers on the way are full: two connections' and a few streams', not the log's.
      takenUnread = taken;
      reading.resolve();
    }, 1_000);
    const response = await fetch(new URL('/v1/logs?vehicle=KV-101&timeZone=America%2FDenver', url), {
      method: 'POST',
      headers: { 'content-type': 'text/csv', 'x-tallybay-recorder': 'R-7', 'x-request-id': 'r-1' },
      body: body(),
      duplex: 'half',
    } as unknown as RequestInit);
    const answer = (await response.json()) as {
      url: string;
      headers: Record<string, string>;
      bytes: number;
      sha256: string;
    };
    expect(takenUnread).toBeLessThan(40);
    expect(response.status).toBe(202);
    expect(answer).toMatchObject({
      url: '/v1/logs?vehicle=KV-101&timeZone=America%2FDenver',
      bytes: chunks * CHUNK.length,
      sha256: expected.digest('hex'),
      headers: { 'content-type': 'text/csv', 'x-tallybay-recorder': 'R-7', 'x-request-id': 'r-1' },
    });
  });

  it('pass also when the sender asks first whether to go on (RFC 9110, section 10.1.1)', async () => {
    const url = await listeningApi(await upstream(async (request, response) => response.end(await text(request))));
    const answer = await new Promise<string>((resolve, reject) => {
      const request = httpRequest(new URL('/v1/logs', url), { method: 'POST', headers: { expect: '100-continue' } });
      request.on('continue', () => request.end('a;b\n1;2\n'));
      request.on('response', (response) => resolve(text(response)));
      request.on('error', reject);
      request.flushHeaders();
    });
    expect(answer).toBe('a;b\n1;2\n');
  });

  it('are refused in ingest’s own words, also before they were read whole', async () => {
    const problem = JSON.stringify({ code: 'body_not_text', status: 415 });
    const url = await listeningApi(
      await upstream((request, response) => {
        request.once('data', () => {
          response.writeHead(415, { 'content-type': 'application/problem+json' });
          response.end(problem);
        });
        request.resume();
      }),
    );
    const response = await send(url, 40);
    expect(response).toEqual({ status: 415, body: problem });
  });

  it('say that ingest is down, also in the middle of a large upload', async () => {
    const down = await send(await listeningApi('http://127.0.0.1:1'), 40);
    expect(down.status).toBe(502);
    expect(JSON.parse(down.body)).toMatchObject({ code: 'service_unreachable' });
    const dying = await upstream((request) => request.once('data', () => request.socket.destroy()));
    const cut = await send(await listeningApi(dying), 40);
    expect(cut.status).toBe(502);
  });

  it('that are cut by the sender are cut for ingest as well', async () => {
    const seen = Promise.withResolvers<{ complete: boolean }>();
    const url = await listeningApi(
      await upstream((request) => {
        request.resume();
        request.once('close', () => seen.resolve({ complete: request.complete }));
      }),
    );
    const request = httpRequest(new URL('/v1/logs', url), { method: 'POST', headers: { 'content-length': '5000000' } });
    request.on('error', () => {});
    request.write(CHUNK);
    setTimeout(() => request.destroy(), 200);
    expect(await seen.promise).toEqual({ complete: false });
  });
});

/** Sends `megabytes` as fast as they are taken, and reads the answer while sending. */
function send(url: URL, megabytes: number): Promise<{ status: number; body: string }> {
  return new Promise((resolve, reject) => {
    const request = httpRequest(new URL('/v1/logs', url), { method: 'POST' });
    let left = megabytes;
    const more = () => {
      while (left-- > 0) if (!request.write(CHUNK)) return void request.once('drain', more);
      request.end();
    };
    request.on('error', reject);
    request.on('response', (response) => {
      text(response).then((body) => resolve({ status: response.statusCode ?? 0, body }), reject);
    });
    more();
  });
}
