import type { ArgumentMetadata, PipeTransform } from '@nestjs/common';
import { invalidFromIssues, parseContract, parseParameters } from '@tallybay/contracts';
import type { z } from 'zod';

/** Every argument that names a schema is parsed by it; a failure says which field, and what it was. */
export class ContractPipe implements PipeTransform {
  transform(value: unknown, metadata: ArgumentMetadata): unknown {
    if (metadata.schema === undefined) return value;
    const schema = metadata.schema as z.ZodType;
    if (metadata.type === 'body') return parseContract(schema, value, 'body_invalid');
    // A single named parameter is put under its name, so that the message can name it.
    if (metadata.data === undefined) return parseParameters(schema, value);
    return parseNamed(schema, metadata.data, value);
  }
}

function parseNamed(schema: z.ZodType, name: string, value: unknown): unknown {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const issues = result.error.issues.map((issue) => ({ ...issue, path: [name, ...issue.path] }));
  throw invalidFromIssues(issues, { [name]: value }, 'parameter_invalid');
}
