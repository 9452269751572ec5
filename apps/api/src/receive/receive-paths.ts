import type { OpenAPIObject } from '@nestjs/swagger';
import {
  deadLetterListSchema,
  decodeAgainRequestSchema,
  decodeAgainResultSchema,
  eventListSchema,
  lakeCheckSchema,
  logParametersSchema,
  PARTIAL_UPLOAD,
  pipelineSchema,
  releaseSchema,
  replayRequestSchema,
  replayResultSchema,
  snapshotSchema,
  transferOpenedSchema,
  transferSchema,
  uploadListSchema,
  uploadReceiptSchema,
  uploadSchema,
  uploadStateSchema,
} from '@tallybay/contracts';
import { z } from 'zod';
import { jsonSchema } from '../http/json-schema.js';

type Paths = OpenAPIObject['paths'];
type Operation = NonNullable<Paths[string]['get']>;

interface ReceiveRow {
  method: 'get' | 'post' | 'patch' | 'delete';
  path: string;
  summary: string;
  query?: z.ZodObject;
  /** Name -> what it holds. */
  headers?: Record<string, string>;
  body?: { type: string; schema: z.ZodType | null };
  /** status -> schema; null = bytes as they came; 204 has no body. */
  answers: Record<number, z.ZodType | null>;
}

const listQuery = z.object({
  state: uploadStateSchema.optional(),
  vehicle: z.string().optional(),
  kind: z.enum(['log', 'snapshot']).optional(),
  limit: z.number().int().min(1).max(1000).optional(),
  after: z.string().optional().describe('id of the last upload of the page before'),
});

const limitQuery = z.object({ limit: z.number().int().min(1).max(1000).optional() });

/** What apps/ingest answers, as people meet it through this app. */
const ROWS: readonly ReceiveRow[] = [
  {
    method: 'post',
    path: '/v1/logs',
    summary: 'Upload a log of any size as it is (optionally gzip); the same bytes again answer 200 with the first id',
    query: logParametersSchema,
    body: { type: 'application/octet-stream', schema: null },
    answers: { 202: uploadReceiptSchema, 200: uploadReceiptSchema },
  },
  {
    method: 'post',
    path: '/v1/transfers',
    summary:
      'Open a transfer: a log that is sent in pieces and goes on inside the file after a break (after the IETF draft ' +
      '"Resumable Uploads for HTTP"). 201 new, 200 with the present offset when it is open, or with the upload of the same bytes',
    query: logParametersSchema,
    headers: {
      'Upload-Length': 'bytes of the whole',
      'Repr-Digest': 'sha-256=:BASE64:, of the bytes as they are sent (RFC 9530)',
    },
    answers: { 201: transferOpenedSchema, 200: transferOpenedSchema },
  },
  {
    method: 'patch',
    path: '/v1/transfers/{id}',
    summary:
      'The bytes from the offset on; what arrived before a cut stays. The last piece is answered as POST /v1/logs is',
    headers: {
      'Upload-Offset': 'byte at which these begin; 409 names the right one',
      'Upload-Complete': '?1 with the last piece',
    },
    body: { type: PARTIAL_UPLOAD, schema: null },
    answers: { 204: null, 202: uploadReceiptSchema, 200: uploadReceiptSchema },
  },
  {
    method: 'get',
    path: '/v1/transfers/{id}',
    summary: 'Where a transfer goes on, in Upload-Offset too (HEAD: the headers alone)',
    answers: { 200: transferSchema },
  },
  { method: 'delete', path: '/v1/transfers/{id}', summary: 'Drop a transfer and its bytes', answers: { 204: null } },
  {
    method: 'post',
    path: '/v1/snapshots',
    summary: 'Upload codes and monitors at one moment',
    body: { type: 'application/json', schema: snapshotSchema },
    answers: { 202: uploadReceiptSchema, 200: uploadReceiptSchema },
  },
  {
    method: 'get',
    path: '/v1/uploads',
    summary: 'Uploads, newest first; state=waiting lists those that need a vehicle or a time',
    query: listQuery,
    answers: { 200: uploadListSchema },
  },
  {
    method: 'get',
    path: '/v1/uploads/{id}',
    summary: 'Progress, decisions and counts',
    answers: { 200: uploadSchema },
  },
  {
    method: 'get',
    path: '/v1/uploads/by-hash/{sha256}',
    summary: 'The upload with this content, if it was sent before',
    answers: { 200: uploadSchema },
  },
  { method: 'get', path: '/v1/uploads/{id}/raw', summary: 'The bytes as they came', answers: { 200: null } },
  {
    method: 'post',
    path: '/v1/uploads/{id}/release',
    summary: 'Tell a waiting upload its vehicle or time',
    body: { type: 'application/json', schema: releaseSchema },
    answers: { 200: uploadSchema },
  },
  {
    method: 'post',
    path: '/v1/uploads/{id}/decode-again',
    summary: "Decode again with today's catalogue and profiles",
    answers: { 202: uploadSchema },
  },
  {
    method: 'post',
    path: '/v1/decode-again',
    summary: 'Decode again every upload of a vehicle, an ISO week, or a state; what is named must all hold',
    body: { type: 'application/json', schema: decodeAgainRequestSchema },
    answers: { 202: decodeAgainResultSchema },
  },
  {
    method: 'get',
    path: '/v1/pipeline',
    summary: 'How far the path is: uploads by state, and messages on the stream that are not finished',
    answers: { 200: pipelineSchema },
  },
  {
    method: 'get',
    path: '/v1/dead-letters',
    summary: 'Messages that were set aside, with reason and origin, newest last',
    query: limitQuery,
    answers: { 200: deadLetterListSchema },
  },
  {
    method: 'post',
    path: '/v1/dead-letters/replay',
    summary: 'Send dead letters on their way again; without ids, all whose upload is still failed',
    body: { type: 'application/json', schema: replayRequestSchema },
    answers: { 202: replayResultSchema },
  },
  {
    method: 'post',
    path: '/v1/lake-check',
    summary: 'Look for damaged files in the lake; they are taken out and their uploads marked failed',
    answers: { 200: lakeCheckSchema },
  },
  {
    method: 'get',
    path: '/v1/events',
    summary: 'What was announced to other systems, newest last',
    query: limitQuery,
    answers: { 200: eventListSchema },
  },
];

export function receivePaths(): Paths {
  const paths: Paths = {};
  for (const row of ROWS) paths[row.path] = { ...paths[row.path], [row.method]: operationFrom(row) };
  return paths;
}

function operationFrom(row: ReceiveRow): Operation {
  return {
    tags: ['uploads'],
    summary: row.summary,
    operationId: `${row.method}${row.path.replace(/\W+(\w)/g, (_match, letter: string) => letter.toUpperCase()).replace(/\W/g, '')}`,
    parameters: [...pathParameters(row.path), ...headerParameters(row.headers), ...queryParameters(row.query)],
    ...(row.body
      ? {
          requestBody: {
            required: true,
            content: { [row.body.type]: { schema: bodySchema(row.body.schema, 'input') } },
          },
        }
      : {}),
    responses: Object.fromEntries(
      Object.entries(row.answers).map(([status, schema]) => [
        status,
        {
          description: '',
          ...(status === '204' ? {} : { content: answerContent(schema) }),
        },
      ]),
    ),
  };
}

const bodySchema = (schema: z.ZodType | null, io: 'input' | 'output') =>
  schema ? jsonSchema(schema, io) : { type: 'string', format: 'binary' };

const answerContent = (schema: z.ZodType | null) => ({
  [schema ? 'application/json' : 'application/octet-stream']: { schema: bodySchema(schema, 'output') },
});

const headerParameters = (headers: ReceiveRow['headers']): Operation['parameters'] & object =>
  Object.entries(headers ?? {}).map(([name, description]) => ({
    ...{ name, in: 'header' as const, required: true, description },
    schema: { type: 'string' },
  }));

const pathParameters = (path: string): Operation['parameters'] & object =>
  Array.from(path.matchAll(/\{(\w+)\}/g), ([, name]) => ({
    name: name ?? '',
    in: 'path' as const,
    required: true,
    schema: { type: 'string' },
  }));

const queryParameters = (query: z.ZodObject | undefined): Operation['parameters'] & object =>
  Object.entries(query?.shape ?? {}).map(([name, schema]) => ({
    name,
    in: 'query' as const,
    required: false,
    schema: jsonSchema(schema as z.ZodType, 'input'),
  }));
