import { randomBytes } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { open, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { classifyError, type QueryRequest, type QueryResult, TallybayError } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import type { QueryService } from './query-service.js';

const MS_PER_DAY = 86_400_000;

/** Answers that stay: Parquet files whose id is the link to them, and unguessable. */
export class KeptAnswers {
  constructor(
    private readonly parts: {
      registry: Registry;
      queries: QueryService;
      directory: string;
      keepDays: number;
      nowMs: () => number;
    },
  ) {}

  /**
   * Runs a statement and keeps its answer. One that fails is kept as such when it belongs to a question, so that its owner
   * sees why. @throws TallybayError as POST /v1/query, for a statement without a question
   */
  async keep(
    request: QueryRequest & { name?: string | undefined },
    person: string,
    question: string | null,
  ): Promise<QueryResult> {
    const id = randomBytes(18).toString('base64url');
    const { name, ...ask } = request;
    const base = { id, question, name: name ?? null, sql: request.sql, person };
    try {
      const outcome = await this.write(id, ask, person);
      return await this.note({ ...base, ...outcome, problem: null });
    } catch (error) {
      if (question === null) throw error;
      return await this.note({ ...base, rows: 0, bytes: 0, truncated: false, problem: classifyError(error).message });
    }
  }

  /** @throws TallybayError `record_unknown` */
  async get(id: string): Promise<QueryResult> {
    const result = await this.parts.registry.questions.result(id);
    if (result) return result;
    throw new TallybayError('record_unknown', `There is no kept answer ${id}`, {
      advice: `Answers are kept for ${this.parts.keepDays} days.`,
    });
  }

  /** The file of an answer that has rows. @throws TallybayError `record_unknown` */
  async file(id: string): Promise<string> {
    const result = await this.get(id);
    if (result.problem !== null)
      throw new TallybayError('record_unknown', `This run failed: ${result.problem}`, { advice: 'Run it again.' });
    return this.path(result.id);
  }

  /** Forgets what is older than the days it is kept. */
  async sweep(): Promise<number> {
    const { registry, keepDays, nowMs } = this.parts;
    const gone = await registry.questions.forgetResultsBefore(nowMs() - keepDays * MS_PER_DAY);
    for (const id of gone) await rm(this.path(id), { force: true });
    return gone.length;
  }

  private path(id: string): string {
    return join(this.parts.directory, `${id}.parquet`);
  }

  private async write(id: string, request: QueryRequest, person: string) {
    const answer = await this.parts.queries.answer(request, person, 'parquet');
    const partial = `${this.path(id)}.partial`;
    try {
      await pipeline(Readable.from(answer.bytes, { objectMode: false }), createWriteStream(partial));
      const handle = await open(partial, 'r');
      await handle.sync().finally(() => handle.close());
      await rename(partial, this.path(id));
    } catch (error) {
      await rm(partial, { force: true });
      throw error;
    }
    const { rows, truncated } = this.parts.queries.status(answer.id);
    return { rows: rows ?? 0, truncated, bytes: (await stat(this.path(id))).size };
  }

  private async note(result: Omit<QueryResult, 'madeAt'>): Promise<QueryResult> {
    const made = { ...result, madeAt: new Date(this.parts.nowMs()).toISOString() };
    await this.parts.registry.questions.keepResult(made);
    return made;
  }
}
