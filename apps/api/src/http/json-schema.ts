import { z } from 'zod';

/** A zod schema as OpenAPI 3.0 understands it. */
export function jsonSchema(schema: z.ZodType, io: 'input' | 'output' = 'output'): Record<string, unknown> {
  const { $schema, ...plain } = z.toJSONSchema(schema, { target: 'openapi-3.0', io, unrepresentable: 'any' });
  return plain;
}
