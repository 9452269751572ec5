import { type QueryResult, type Question, type QuestionInput, TallybayError } from '@tallybay/contracts';
import type { RegistryDatabase, RegistryTables } from './schema.js';
import { type PutOptions, putVersioned } from './versioned-put.js';

const TARGET = { table: 'questions', key: 'id', noun: 'question' } as const;

/** Analysts' saved questions, and the answers that were kept of them and of others. The answers' rows are files elsewhere. */
export class Questions {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** By name. */
  async list(): Promise<Question[]> {
    const rows = await this.db.selectFrom('questions').selectAll().execute();
    return rows
      .map(questionFromRow)
      .sort((a, b) => (a.name === b.name ? (a.id < b.id ? -1 : 1) : a.name < b.name ? -1 : 1));
  }

  async get(id: string): Promise<Question | null> {
    const row = await this.db.selectFrom('questions').selectAll().where('id', '=', id).executeTakeFirst();
    return row ? questionFromRow(row) : null;
  }

  /** A new question belongs to `owner`; an old one keeps its owner, who alone may change it. @throws TallybayError `edit_conflict` */
  async put(id: string, input: QuestionInput, owner: string, options: PutOptions = {}): Promise<Question> {
    await this.mustOwn(id, owner);
    const row = { id, owner, document: JSON.stringify(input), updated_at_ms: this.nowMs() };
    const version = await putVersioned(this.db, TARGET, row, options);
    return questionFromRow({ ...row, version });
  }

  /** @returns false when there is no such question. @throws TallybayError `edit_conflict` when it is somebody else's */
  async remove(id: string, owner: string): Promise<boolean> {
    await this.mustOwn(id, owner);
    const { numDeletedRows } = await this.db.deleteFrom('questions').where('id', '=', id).executeTakeFirstOrThrow();
    return numDeletedRows > 0n;
  }

  async keepResult(result: QueryResult): Promise<void> {
    await this.db.insertInto('query_results').values(rowFromResult(result)).execute();
  }

  async result(id: string): Promise<QueryResult | null> {
    const row = await this.db.selectFrom('query_results').selectAll().where('id', '=', id).executeTakeFirst();
    return row ? resultFromRow(row) : null;
  }

  /** Newest first. */
  async resultsOf(question: string, limit: number): Promise<QueryResult[]> {
    const rows = await this.db
      .selectFrom('query_results')
      .selectAll()
      .where('question', '=', question)
      .orderBy('made_at_ms', 'desc')
      .orderBy('id')
      .limit(limit)
      .execute();
    return rows.map(resultFromRow);
  }

  /** Forgets answers that were made before an instant. @returns their ids, so that their files can go */
  async forgetResultsBefore(ms: number): Promise<string[]> {
    const gone = await this.db.deleteFrom('query_results').where('made_at_ms', '<', ms).returning('id').execute();
    return gone.map(({ id }) => id);
  }

  private async mustOwn(id: string, owner: string): Promise<void> {
    const known = await this.get(id);
    if (known && known.owner !== owner)
      throw new TallybayError('edit_conflict', `The question ${known.name} belongs to ${known.owner}`, {
        advice: 'Save it as a question of your own.',
      });
  }
}

const questionFromRow = (row: RegistryTables['questions']): Question => ({
  ...(JSON.parse(row.document) as QuestionInput),
  ...{ id: row.id, owner: row.owner, version: row.version, updatedAt: new Date(row.updated_at_ms).toISOString() },
});

const rowFromResult = (result: QueryResult): RegistryTables['query_results'] => ({
  ...{ id: result.id, question: result.question, name: result.name, statement: result.sql, person: result.person },
  ...{ made_at_ms: Date.parse(result.madeAt), row_count: result.rows, bytes: result.bytes },
  ...{ truncated: result.truncated ? 1 : 0, problem: result.problem },
});

const resultFromRow = (row: RegistryTables['query_results']): QueryResult => ({
  ...{ id: row.id, question: row.question, name: row.name, sql: row.statement, person: row.person },
  ...{ madeAt: new Date(row.made_at_ms).toISOString(), rows: row.row_count, bytes: row.bytes },
  ...{ truncated: row.truncated === 1, problem: row.problem },
});
