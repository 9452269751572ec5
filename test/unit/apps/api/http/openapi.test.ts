import type { OpenAPIObject } from '@nestjs/swagger';
import type { SnapshotInput } from '@tallybay/contracts';
import { decodeRawSnapshot } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { REQUEST_EXAMPLES } from '../../../../../apps/api/src/http/request-examples.js';
import { startApi, type TestApi } from '../test-api.js';

interface JsonBody {
  method: 'put' | 'post' | 'patch' | 'delete';
  path: string;
  schema: Record<string, unknown>;
  /** Name -> body. */
  examples: Record<string, unknown>;
}

describe('the examples of the OpenAPI description', () => {
  it('stand at every operation that takes JSON, and satisfy its schema', async () => {
    const bodies = jsonBodies(await described(await startApi()));
    expect(bodies.length).toBeGreaterThan(25);
    for (const { method, path, schema, examples } of bodies) {
      expect(Object.keys(examples), `${method} ${path}`).not.toEqual([]);
      const accepted = z.fromJSONSchema(schema as never, { defaultTarget: 'openapi-3.0' });
      for (const [name, value] of Object.entries(examples))
        expect(accepted.safeParse(value).error, `${method} ${path}: ${name}`).toBeUndefined();
    }
  });

  it('are taken when they are sent', async () => {
    const api = await startApi();
    const own = jsonBodies(await described(api)).filter(({ path }) => !RECEIVED.test(path));
    const first = own.find(({ path }) => path === '/v1/fleet');
    expect((await api.call('POST', '/v1/fleet', Object.values(first!.examples)[0])).status).toBe(200);
    const refused: string[] = [];
    for (const { method, path, examples } of own)
      for (const [name, body] of Object.entries(examples)) {
        const answer = await api.call(method.toUpperCase(), addressed(path, body, name), body);
        if (answer.status >= 400 && !EMPTY_SERVICE.has(answer.body.code))
          refused.push(`${method} ${path}: ${name}: ${JSON.stringify(answer.body)}`);
      }
    expect(refused).toEqual([]);
  });

  it('tell the same snapshot as values and as bytes', () => {
    const [values, bytes] = Object.values(REQUEST_EXAMPLES['POST /v1/snapshots']!) as SnapshotInput[];
    const read = decodeRawSnapshot(bytes!.raw!);
    expect(read).toMatchObject({
      ignition: values!.ignition,
      lampOn: values!.lampOn,
      codes: values!.codes,
      problems: [],
    });
    expect(read.monitors).toContainEqual(values!.monitors![0]);
  });
});

/** Answered by the receive side. */
const RECEIVED = /^\/v1\/(snapshots|uploads|decode-again|dead-letters)/;
/** What a service without uploads and visits answers to a good body. */
const EMPTY_SERVICE = new Set(['upload_unknown', 'record_unknown']);

async function described(api: TestApi): Promise<OpenAPIObject> {
  const answer = await api.call('GET', '/openapi.json');
  expect(answer.status).toBe(200);
  return answer.body as OpenAPIObject;
}

function jsonBodies(document: OpenAPIObject): JsonBody[] {
  return Object.entries(document.paths).flatMap(([path, item]) =>
    (['put', 'post', 'patch', 'delete'] as const).flatMap((method) => {
      const body = item[method]?.requestBody;
      const content = body && 'content' in body ? body.content['application/json'] : undefined;
      if (!content) return [];
      const examples = Object.entries(content.examples ?? {}).map(([name, example]) => [
        name,
        (example as { value: unknown }).value,
      ]);
      return [
        { method, path, schema: content.schema as Record<string, unknown>, examples: Object.fromEntries(examples) },
      ];
    }),
  );
}

/** The path with ids that go with the body. */
function addressed(path: string, body: unknown, name: string): string {
  const { id } = body as { id?: string };
  return path
    .replace('/vehicles/{id}', `/vehicles/${id ?? 'KV-203'}`)
    .replace('{recorder}', 'R-0203')
    .replace('{name}', name.split(',')[0]!)
    .replace(/\{\w+\}/, id ?? 'anything');
}
