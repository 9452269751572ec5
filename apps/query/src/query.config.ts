import { invalidFromIssues } from '@tallybay/contracts';
import type { SandboxOptions } from '@tallybay/lake';
import { z } from 'zod';

/** Set by the api, which starts this program; a person has no reason to. */
const environmentSchema = z.object({
  TALLYBAY_QUERY_LAKE: z.string().min(1),
  TALLYBAY_QUERY_RESULTS: z.string().min(1),
  TALLYBAY_QUERY_THREADS: z.coerce.number().int().min(1).max(256),
  TALLYBAY_QUERY_DUCKDB_MB: z.coerce.number().int().min(64),
});

/** @throws TallybayError `config_invalid` naming the variable */
export function readQueryConfig(environment: Record<string, string | undefined>): SandboxOptions {
  const parsed = environmentSchema.safeParse(environment);
  if (!parsed.success) throw invalidFromIssues(parsed.error.issues, environment, 'config_invalid');
  return {
    lake: parsed.data.TALLYBAY_QUERY_LAKE,
    results: parsed.data.TALLYBAY_QUERY_RESULTS,
    threads: parsed.data.TALLYBAY_QUERY_THREADS,
    memoryMb: parsed.data.TALLYBAY_QUERY_DUCKDB_MB,
  };
}
