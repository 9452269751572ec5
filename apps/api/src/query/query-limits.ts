import { availableParallelism } from 'node:os';
import { parseContract, type QueryLimits, queryLimitsSchema } from '@tallybay/contracts';
import type { PutOptions, Registry } from '@tallybay/registry';
import { z } from 'zod';

const NAME = 'query-limits';

/** What everybody may, and what single people may instead; a person is the name that the caller gives. */
export const queryLimitsDocumentSchema = z
  .object({ everyone: queryLimitsSchema, people: z.record(z.string().min(1).max(80), queryLimitsSchema.partial()) })
  .strict();
export type QueryLimitsDocument = z.infer<typeof queryLimitsDocumentSchema>;

export const STANDARD_LIMITS: QueryLimitsDocument = {
  everyone: { rows: 1_000_000, seconds: 60, memoryMb: 1_024, atOnce: Math.min(2, availableParallelism()) },
  people: {},
};

/** Limits of analysts' queries: a setting that people edit, with its history. */
export class QueryLimitSettings {
  constructor(private readonly registry: Registry) {}

  async read(): Promise<{ document: QueryLimitsDocument; version: number }> {
    const edited = await this.registry.settings.get(NAME);
    return { document: (edited?.document as QueryLimitsDocument) ?? STANDARD_LIMITS, version: edited?.version ?? 0 };
  }

  async of(person: string): Promise<QueryLimits> {
    const { document } = await this.read();
    const own = Object.hasOwn(document.people, person) ? document.people[person]! : {};
    return { ...document.everyone, ...withoutUndefined(own) };
  }

  /** What anybody's query may take, seconds. */
  async longestSeconds(): Promise<number> {
    const { everyone, people } = (await this.read()).document;
    return Math.max(everyone.seconds, ...Object.values(people).map(({ seconds }) => seconds ?? 0));
  }

  /** @throws TallybayError `body_invalid`, `edit_conflict` */
  async put(document: unknown, options: PutOptions & { by?: string }): Promise<QueryLimitsDocument> {
    const valid = parseContract(queryLimitsDocumentSchema, document, 'body_invalid');
    return (await this.registry.settings.put(NAME, valid, options)).document as QueryLimitsDocument;
  }
}

const withoutUndefined = (limits: Partial<QueryLimits>): Partial<QueryLimits> =>
  Object.fromEntries(Object.entries(limits).filter(([, value]) => value !== undefined));
