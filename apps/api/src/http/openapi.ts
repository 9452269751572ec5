import type { INestApplication } from '@nestjs/common';
import { DocumentBuilder, type OpenAPIObject, SwaggerModule } from '@nestjs/swagger';
import { problemSchema } from '@tallybay/contracts';
import { receivePaths } from '../receive/receive-paths.js';
import { jsonSchema } from './json-schema.js';
import { REQUEST_EXAMPLES } from './request-examples.js';

type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;
const METHODS = ['get', 'put', 'post', 'patch', 'delete'] as const;

/**
 * The OpenAPI description, made from the same zod schemas that check requests: this app's own addresses from their
 * controllers, the receive side's from its table. Every operation may answer with a problem document.
 */
export function openApiDocument(app: INestApplication): OpenAPIObject {
  const frame = new DocumentBuilder()
    .setTitle('Tallybay')
    .setDescription(
      'Engine logs in, weekly ranking out. It ranks work for the shop; it clears no vehicle as safe to drive. ' +
        'Errors are application/problem+json (RFC 9457) with a stable `code`.',
    )
    .setVersion('1')
    .build();
  const document = SwaggerModule.createDocument(app, frame);
  document.paths = { ...document.paths, ...receivePaths() };
  document.components ??= {};
  document.components.schemas = { ...document.components.schemas, Problem: jsonSchema(problemSchema) };
  for (const [path, item] of Object.entries(document.paths))
    for (const method of METHODS) {
      const operation = item[method];
      if (!operation) continue;
      mayAnswerProblem(operation);
      showExamples(operation, REQUEST_EXAMPLES[`${method.toUpperCase()} ${path}`]);
    }
  return document;
}

function showExamples(operation: Operation, examples: Readonly<Record<string, unknown>> = {}): void {
  const { requestBody } = operation;
  const content = requestBody && 'content' in requestBody ? requestBody.content['application/json'] : undefined;
  if (!content) return;
  content.examples = Object.fromEntries(Object.entries(examples).map(([name, value]) => [name, { value }]));
}

function mayAnswerProblem(operation: Operation): void {
  operation.responses.default ??= {
    description: 'What went wrong, and what to do about it',
    content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
  };
}
