import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { type FileHandle, mkdir, open, readdir, readFile, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { logParametersSchema, TallybayError } from '@tallybay/contracts';
import { z } from 'zod';

const recordSchema = z.object({
  id: z.string(),
  sha256: z.string(),
  length: z.number().int(),
  /** Bytes of the part file that are known to be on the disk. */
  safe: z.number().int(),
  parameters: logParametersSchema,
  /** When bytes arrived last, or when it was opened. */
  touchedMs: z.number(),
});
export type TransferRecord = z.infer<typeof recordSchema>;

/** An id's form: what is not of it names no file. */
const ID = /^[0-9a-f]{32}$/;

/** The same bytes are the same transfer, whoever sends them. */
export const transferIdOf = (sha256: string, length: number): string =>
  createHash('sha256').update(`${sha256}:${length}`).digest('hex').slice(0, 32);

/**
 * Open transfers on the disk: `<id>.part` holds the bytes so far, `<id>.json` says how many of them are safe. What the part
 * file has beyond that, after a crash, may never have reached the disk and is cut off.
 */
export class TransferFiles {
  constructor(private readonly directory: string) {}

  /** @throws TallybayError `landing_unwritable` */
  async prepare(): Promise<void> {
    await this.guarded(() => mkdir(this.directory, { recursive: true }));
  }

  /** null when there is none, or when its record cannot be read: then the sender begins anew. */
  async load(id: string): Promise<TransferRecord | null> {
    if (!ID.test(id)) return null;
    const text = await readFile(this.recordFile(id), 'utf8').catch(() => '');
    const parsed = recordSchema.safeParse(tryJson(text));
    return parsed.success ? parsed.data : null;
  }

  async all(): Promise<TransferRecord[]> {
    const names = await readdir(this.directory);
    const ids = names.filter((name) => name.endsWith('.json')).map((name) => name.slice(0, -'.json'.length));
    const records = await Promise.all(ids.map((id) => this.load(id)));
    return records.filter((record) => record !== null);
  }

  /** Written beside, synced, renamed: a crash leaves the record before or this one. @throws TallybayError `landing_unwritable` */
  async save(record: TransferRecord): Promise<void> {
    await this.guarded(async () => {
      const fresh = `${this.recordFile(record.id)}.new`;
      const handle = await open(fresh, 'w');
      try {
        await handle.writeFile(JSON.stringify(record));
        await handle.sync();
      } finally {
        await handle.close();
      }
      await rename(fresh, this.recordFile(record.id));
    });
  }

  /** The part file, cut to what is safe, ready to take more. @throws TallybayError `landing_unwritable` */
  async openPart(record: TransferRecord): Promise<FileHandle> {
    return this.guarded(async () => {
      const handle = await open(this.partFile(record.id), record.safe === 0 ? 'w+' : 'r+');
      await handle.truncate(record.safe);
      return handle;
    });
  }

  bytes(id: string): AsyncIterable<Uint8Array> {
    return createReadStream(this.partFile(id), { highWaterMark: 256 * 1024 });
  }

  /** SHA-256 of all that has arrived, in hexadecimal. */
  async digest(id: string): Promise<string> {
    const hash = createHash('sha256');
    await this.guarded(async () => {
      for await (const part of this.bytes(id)) hash.update(part);
    });
    return hash.digest('hex');
  }

  /** Removes both files; the record goes first, so that a crash between leaves a part that the sweep takes. */
  async remove(id: string): Promise<void> {
    await rm(this.recordFile(id), { force: true });
    await rm(this.partFile(id), { force: true });
  }

  /** Removes part files that belong to no record: a record is there before its part, and goes first. */
  async removeOrphans(): Promise<void> {
    for (const name of await readdir(this.directory)) {
      const id = name.slice(0, name.indexOf('.'));
      if (!name.endsWith('.part') || !ID.test(id) || (await this.load(id))) continue;
      await rm(join(this.directory, name), { force: true });
    }
  }

  /** What the disk refuses, in the project's words. */
  async guarded<T>(action: () => Promise<T>): Promise<T> {
    try {
      return await action();
    } catch (error) {
      throw new TallybayError(
        'landing_unwritable',
        `The transfers in ${this.directory} cannot be written or read: ${(error as Error).message}`,
        { advice: 'Check the disk and its permissions; the transfer goes on where it stopped.', cause: error },
      );
    }
  }

  private partFile(id: string): string {
    return join(this.directory, `${id}.part`);
  }

  private recordFile(id: string): string {
    return join(this.directory, `${id}.json`);
  }
}

function tryJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    // Cut or damaged: as good as none.
    return null;
  }
}
