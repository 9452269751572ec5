import { randomUUID } from 'node:crypto';
import type { Note } from '@tallybay/contracts';
import type { RegistryDatabase, RegistryTables } from './schema.js';

/** `at` as epoch ms; both null for a note about the vehicle. */
export type NoteToWrite = Pick<Note, 'vehicle' | 'upload' | 'text' | 'by'> & { atMs: number | null };

/** What people write about vehicles and, as markers added later, into recordings. */
export class Notes {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** About the vehicle, newest first. */
  async ofVehicle(vehicle: string): Promise<Note[]> {
    const query = this.shown().where('vehicle', '=', vehicle).where('upload', 'is', null);
    return (await query.orderBy('written_at_ms', 'desc').orderBy('id').execute()).map(noteFromRow);
  }

  /** In the recording, in its order. */
  async inRecording(upload: string): Promise<Note[]> {
    return (await this.shown().where('upload', '=', upload).orderBy('at_ms').orderBy('id').execute()).map(noteFromRow);
  }

  async add({ vehicle, upload, atMs, text, by }: NoteToWrite): Promise<Note> {
    const row = {
      ...{ id: randomUUID(), vehicle, upload, at_ms: atMs, note: text, written_by: by },
      ...{ written_at_ms: this.nowMs(), removed_by: null, removed_at_ms: null },
    };
    await this.db.insertInto('notes').values(row).execute();
    return noteFromRow(row);
  }

  /** Shown no more; what it said is kept with who took it away. @returns false when there is no such note there */
  async remove(id: string, of: { vehicle: string; upload: string | null }, by: string): Promise<boolean> {
    const { numUpdatedRows } = await this.db
      .updateTable('notes')
      .set({ removed_by: by, removed_at_ms: this.nowMs() })
      .where('id', '=', id)
      .where('vehicle', '=', of.vehicle)
      .where('upload', of.upload === null ? 'is' : '=', of.upload)
      .where('removed_at_ms', 'is', null)
      .executeTakeFirstOrThrow();
    return numUpdatedRows > 0n;
  }

  private shown() {
    return this.db.selectFrom('notes').selectAll().where('removed_at_ms', 'is', null);
  }
}

const isoOf = (ms: number): string => new Date(ms).toISOString();

const noteFromRow = (row: RegistryTables['notes']): Note => ({
  ...{ id: row.id, vehicle: row.vehicle, upload: row.upload, text: row.note, by: row.written_by },
  at: row.at_ms === null ? null : isoOf(row.at_ms),
  writtenAt: isoOf(row.written_at_ms),
});
