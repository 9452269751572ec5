import { createHash } from 'node:crypto';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { gunzipSync } from 'node:zlib';
import type { Upload, UploadReceipt } from '@tallybay/contracts';

export interface Received {
  method: string;
  path: string;
  query: Record<string, string>;
  /** Unpacked where it was gzip. */
  body: Buffer;
  sentBytes: number;
}

type Answer = { status: number; body?: unknown; headers?: Record<string, string>; cut?: boolean };

/**
 * Stands in for the service at the HTTP boundary: a real server that keeps what it gets, answers the way the REST
 * interface describes, and can be told to be broken for a while.
 */
export class FakeService {
  readonly received: Received[] = [];
  /** Answers to give before the normal ones, first in first out, to requests whose path starts like this. */
  readonly planned: { path: string; answer: Answer }[] = [];
  readonly uploads = new Map<string, Upload>();
  /** Any other route. */
  readonly routes = new Map<string, (request: Received) => Answer>();
  url = '';
  private readonly server: Server;

  private constructor() {
    this.server = createServer((request, response) => void this.handle(request, response));
  }

  static async start(): Promise<FakeService> {
    const service = new FakeService();
    await new Promise<void>((resolve) => service.server.listen(0, '127.0.0.1', resolve));
    service.url = `http://127.0.0.1:${(service.server.address() as AddressInfo).port}`;
    return service;
  }

  posts(path: string): Received[] {
    return this.received.filter((one) => one.method === 'POST' && one.path === path);
  }

  async stop(): Promise<void> {
    this.server.closeAllConnections();
    await new Promise((resolve) => this.server.close(resolve));
  }

  private async handle(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const address = new URL(request.url ?? '/', 'http://x');
    const index = this.planned.findIndex((one) => address.pathname.startsWith(one.path));
    const [planned] = index >= 0 ? this.planned.splice(index, 1) : [];
    if (planned?.answer.cut) {
      request.destroy();
      return;
    }
    const parts: Buffer[] = [];
    if (!planned) for await (const part of request) parts.push(part);
    const sent = Buffer.concat(parts);
    const received: Received = {
      method: request.method ?? '',
      path: address.pathname,
      query: Object.fromEntries(address.searchParams),
      body: sent[0] === 0x1f && sent[1] === 0x8b ? gunzipSync(sent) : sent,
      sentBytes: sent.length,
    };
    const answer = planned?.answer ?? this.answer(received);
    if (!planned) this.received.push(received);
    const type = answer.status >= 400 ? 'application/problem+json' : 'application/json';
    response.writeHead(answer.status, { 'content-type': type, ...answer.headers });
    response.end(typeof answer.body === 'string' ? answer.body : JSON.stringify(answer.body ?? null));
  }

  private answer(request: Received): Answer {
    const route = this.routes.get(`${request.method} ${request.path}`);
    if (route) return route(request);
    if (request.path.startsWith('/v1/uploads/by-hash/')) {
      const found = this.uploads.get(request.path.split('/').at(-1) ?? '');
      return found ? { status: 200, body: found } : { status: 404, body: unknownUpload };
    }
    if (request.method === 'POST' && /^\/v1\/(logs|snapshots)$/.test(request.path)) return this.take(request);
    return { status: 404, body: { ...unknownUpload, code: 'route_unknown' } };
  }

  private take(request: Received): Answer {
    const sha256 = createHash('sha256').update(request.body).digest('hex');
    const before = this.uploads.get(sha256);
    const upload = before ?? uploadOf(request, sha256);
    this.uploads.set(sha256, upload);
    const { id, state, bytes, vehicle, problem } = upload;
    const receipt: UploadReceipt = { id, state, duplicate: before !== undefined, bytes, vehicle, problem };
    return { status: before ? 200 : 202, body: receipt };
  }
}

const unknownUpload = {
  type: 'urn:tallybay:problem:upload_unknown',
  title: 'There is no upload with this id',
  status: 404,
  detail: 'no upload',
  code: 'upload_unknown',
};

export function uploadOf(request: Pick<Received, 'path' | 'query' | 'body'>, sha256: string): Upload {
  const vehicle = request.query.vehicle ?? null;
  return {
    id: `u-${sha256.slice(0, 8)}`,
    kind: request.path.endsWith('logs') ? 'log' : 'snapshot',
    state: vehicle ? 'queued' : 'waiting',
    vehicle,
    recorder: request.query.recorder ?? null,
    fileName: request.query.fileName ?? null,
    bytes: request.body.length,
    sha256,
    receivedAt: '2026-10-05T12:00:00.000Z',
    storedAt: null,
    firstTime: null,
    lastTime: null,
    progress: { chunks: 1, decoded: 0 },
    decisions: [],
    counts: null,
    unmapped: [],
    problem: vehicle
      ? null
      : {
          type: 'urn:tallybay:problem:vehicle_missing',
          title: 'The upload does not say which vehicle it is from',
          status: 202,
          detail: 'no vehicle, recorder or VIN',
          code: 'vehicle_missing',
          advice: 'Release it with the vehicle.',
        },
  };
}
