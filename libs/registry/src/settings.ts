import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import { type PutOptions, putVersioned } from './versioned-put.js';

const TARGET = { table: 'settings', key: 'name', noun: 'setting' } as const;

export interface Setting {
  name: string;
  /** Any JSON value; who reads it checks its shape. */
  document: unknown;
  version: number;
  updatedAtMs: number;
  updatedBy: string | null;
}

/** Named JSON documents that people edit (stages, class names, weights). Every version is kept with when and by whom. */
export class Settings {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  async list(): Promise<Setting[]> {
    return (await this.db.selectFrom('settings').selectAll().orderBy('name').execute()).map(settingFromRow);
  }

  async get(name: string): Promise<Setting | null> {
    const row = await this.db.selectFrom('settings').selectAll().where('name', '=', name).executeTakeFirst();
    return row ? settingFromRow(row) : null;
  }

  /** @throws TallybayError `edit_conflict` */
  async put(name: string, document: unknown, options: PutOptions & { by?: string } = {}): Promise<Setting> {
    const row = {
      name,
      document: JSON.stringify(document),
      updated_at_ms: this.nowMs(),
      updated_by: options.by ?? null,
    };
    return inTransaction(this.db, async (transaction) => {
      const version = await putVersioned(transaction, TARGET, row, options);
      await transaction
        .insertInto('settings_history')
        .values({ ...row, version })
        .execute();
      return settingFromRow({ ...row, version });
    });
  }

  /** Every version, newest first. */
  async history(name: string): Promise<Setting[]> {
    const rows = await this.db
      .selectFrom('settings_history')
      .selectAll()
      .where('name', '=', name)
      .orderBy('version', 'desc')
      .execute();
    return rows.map(settingFromRow);
  }
}

interface SettingRow {
  name: string;
  document: string;
  version: number;
  updated_at_ms: number;
  updated_by: string | null;
}

const settingFromRow = (row: SettingRow): Setting => ({
  name: row.name,
  document: JSON.parse(row.document) as unknown,
  version: row.version,
  updatedAtMs: row.updated_at_ms,
  updatedBy: row.updated_by,
});
