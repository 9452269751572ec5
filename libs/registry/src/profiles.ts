import { type Profile, profileSchema, TallybayError } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import { type PutOptions, putVersioned, type Versioned } from './versioned-put.js';

const TARGET = { table: 'profiles', key: 'id', noun: 'profile' } as const;

/** Saved readings of recorders' logs, at most one a recorder. */
export class Profiles {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  async list(): Promise<Versioned<Profile>[]> {
    return (await this.db.selectFrom('profiles').selectAll().orderBy('id').execute()).map(profileFromRow);
  }

  async get(id: string): Promise<Versioned<Profile> | null> {
    const row = await this.db.selectFrom('profiles').selectAll().where('id', '=', id).executeTakeFirst();
    return row ? profileFromRow(row) : null;
  }

  async forRecorder(recorder: string): Promise<Versioned<Profile> | null> {
    const row = await this.db.selectFrom('profiles').selectAll().where('recorder', '=', recorder).executeTakeFirst();
    return row ? profileFromRow(row) : null;
  }

  /** @throws TallybayError `body_invalid` when the recorder has another profile, `edit_conflict` */
  async upsert(profile: Profile, options: PutOptions = {}): Promise<Versioned<Profile>> {
    return inTransaction(this.db, async (transaction) => {
      const other = await new Profiles(transaction, this.nowMs).forRecorder(profile.recorder);
      if (other && other.id !== profile.id) throw profileTaken(profile.recorder, other.id, 'recorder');
      const version = await putVersioned(transaction, TARGET, rowFromProfile(profile, this.nowMs()), options);
      return { ...profile, version };
    });
  }

  /** @returns false when there was none */
  async remove(id: string): Promise<boolean> {
    const { numDeletedRows } = await this.db.deleteFrom('profiles').where('id', '=', id).executeTakeFirstOrThrow();
    return numDeletedRows > 0n;
  }
}

export const rowFromProfile = (profile: Profile, updated_at_ms: number) => ({
  id: profile.id,
  recorder: profile.recorder,
  document: JSON.stringify(profileSchema.parse(profile)),
  updated_at_ms,
});

export function profileTaken(recorder: string, holder: string, field: string): TallybayError {
  return new TallybayError('body_invalid', `${field}: the recorder ${recorder} already has the profile ${holder}`, {
    advice: `Change the profile ${holder}, or remove it first`,
    place: { field },
  });
}

const profileFromRow = (row: { document: string; version: number }): Versioned<Profile> => ({
  ...profileSchema.parse(JSON.parse(row.document)),
  version: row.version,
});
