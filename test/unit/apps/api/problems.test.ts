import { problemSchema } from '@tallybay/contracts';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startApi, type TestApi } from './test-api.js';

/** For tests that leave nothing behind. */
let shared: TestApi;
const atEnd: (() => Promise<void> | void)[] = [];
const warnings: string[] = [];
const onWarning = (warning: Error & { code?: string }) => void warnings.push(warning.code ?? warning.message);
beforeAll(async () => {
  process.on('warning', onWarning);
  atEnd.push(() => void process.off('warning', onWarning));
  shared = await startApi({}, undefined, (work) => void atEnd.unshift(work));
});
afterAll(async () => {
  for (const work of atEnd) await work();
});

describe('every error is a problem document (RFC 9457)', () => {
  it.each([
    ['GET', '/v1/nothing', undefined, {}, 404, 'route_unknown', undefined],
    ['PATCH', '/v1/fleet', {}, {}, 404, 'route_unknown', undefined],
    ['POST', '/v1/fleet', '{"name":', { 'content-type': 'application/json' }, 422, 'body_invalid', undefined],
    ['POST', '/v1/fleet', 'x', { 'content-type': 'text/csv' }, 415, 'media_type_unsupported', undefined],
    ['POST', '/v1/fleet', { name: 'x', depots: [], vehicles: [{ id: 7 }] }, {}, 422, 'body_invalid', 'vehicles.0.id'],
    ['GET', '/v1/vehicles/none', undefined, {}, 404, 'vehicle_not_found', undefined],
    ['GET', '/v1/vehicles/none/drives?limit=0', undefined, {}, 400, 'parameter_invalid', 'limit'],
    ['GET', '/v1/vehicles/none/heat', undefined, {}, 404, 'vehicle_not_found', undefined],
    ['GET', '/v1/rankings/2026-W99', undefined, {}, 400, 'week_invalid', undefined],
    ['GET', '/v1/rankings/..%2F..%2Fetc', undefined, {}, 400, 'week_invalid', undefined],
    ['GET', '/v1/rankings/2026-W41', undefined, {}, 404, 'ranking_unknown', undefined],
    ['GET', '/v1/rankings/latest', undefined, {}, 404, 'ranking_unknown', undefined],
    ['GET', '/v1/rankings/2026-W41?revision=first', undefined, {}, 400, 'parameter_invalid', 'revision'],
    ['POST', '/v1/rankings/soon', undefined, {}, 400, 'week_invalid', undefined],
    [
      'PUT',
      '/v1/vehicles/a',
      { id: 'a', vehicleClass: 'v', depot: 'd' },
      { 'if-match': '7' },
      400,
      'parameter_invalid',
      'If-Match',
    ],
  ] as const)('%s %s', async (method, path, body, headers, status, code, field) => {
    const answer = await shared.call(method, path, body, headers);
    expect(answer.type).toBe('application/problem+json; charset=utf-8');
    expect(problemSchema.parse(answer.body)).toMatchObject({
      status,
      code,
      instance: path,
      ...(field ? { field } : {}),
    });
    expect(answer.status).toBe(status);
  });

  it('tells nothing of an unexpected one, and logs it with the request id', async () => {
    const { call, runtime, log } = await startApi();
    runtime.registry.vehicles.list = () => Promise.reject(new Error('the inside of the machine'));
    const answer = await call('GET', '/v1/vehicles', undefined, { 'x-request-id': 'r-77' });
    expect(answer).toMatchObject({ status: 500, body: { code: 'internal' }, headers: { 'x-request-id': 'r-77' } });
    expect(JSON.stringify(answer.body)).not.toContain('of the machine');
    const line = log.find((entry) => entry.msg === 'request failed unexpectedly');
    expect(line).toMatchObject({ requestId: 'r-77', err: { message: 'the inside of the machine' } });
  });

  it('says that the receiving side is down, on all of its addresses', async () => {
    const { call } = await startApi({ TALLYBAY_INGEST_URL: 'http://127.0.0.1:1' });
    for (const path of ['/v1/logs', '/v1/snapshots', '/v1/uploads/abc/release'])
      expect(await call('POST', path, 'bytes', { 'content-type': 'application/octet-stream' })).toMatchObject({
        status: 502,
        body: { code: 'service_unreachable', instance: path, detail: expect.stringContaining('ECONNREFUSED') },
      });
    expect(await call('GET', '/v1/uploads?state=waiting')).toMatchObject({
      status: 502,
      body: { code: 'service_unreachable' },
    });
  });
});

it('starts without anything of the web framework that it has announced to remove', async () => {
  await new Promise(setImmediate);
  expect(warnings.filter((code) => code.startsWith('FSTDEP'))).toEqual([]);
});

describe('health', () => {
  it('is ready while the stores answer, not while stopping', async () => {
    const { call, runtime } = await startApi();
    expect(await call('GET', '/health/live')).toMatchObject({ status: 200, body: { status: 'ok' } });
    expect(await call('GET', '/health/ready')).toMatchObject({ status: 200, body: { ready: true } });
    runtime.registry.ping = () => Promise.reject(new Error('gone'));
    expect(await call('GET', '/health/ready')).toMatchObject({ status: 503, body: { ready: false } });
    runtime.registry.ping = () => Promise.resolve();
    await runtime.drain();
    expect(await call('GET', '/health/ready')).toMatchObject({ status: 503 });
    expect(await call('GET', '/health/live')).toMatchObject({ status: 200 });
  });
});

describe('the OpenAPI description', () => {
  it('has every address with schemas from the contracts', async () => {
    const { body, status } = await shared.call('GET', '/openapi.json');
    expect(status).toBe(200);
    expect(Object.keys(body.paths).sort()).toMatchSnapshot();
    const vehicle = body.paths['/v1/vehicles/{id}'].put.requestBody.content['application/json'].schema;
    expect(resolved(body, vehicle).properties.modelYear).toMatchObject({ type: 'integer', minimum: 1950 });
    const ranking = body.paths['/v1/rankings/{week}'].get.responses['200'].content['application/json'].schema;
    expect(resolved(body, ranking).properties.ranked).toMatchObject({ type: 'array' });
    expect(body.paths['/v1/logs'].post.parameters.map((one: { name: string }) => one.name)).toContain('recordedAt');
    for (const path of Object.values<Record<string, { responses: object }>>(body.paths))
      for (const operation of Object.values(path)) expect(operation.responses).toHaveProperty('default');
  });

  it('refers to nothing that it does not hold', async () => {
    const text = JSON.stringify((await shared.call('GET', '/openapi.json')).body);
    const body = JSON.parse(text);
    for (const [, name] of text.matchAll(/"#\/components\/schemas\/([^"]+)"/g))
      expect(body.components.schemas).toHaveProperty([name!]);
  });
});

type Schema = { $ref?: string; properties: Record<string, Record<string, unknown>> };
const resolved = (document: { components: { schemas: Record<string, Schema> } }, schema: Schema): Schema =>
  schema.$ref ? document.components.schemas[schema.$ref.split('/').at(-1)!]! : schema;
