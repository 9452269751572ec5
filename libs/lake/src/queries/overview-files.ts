import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { vehicleDirectoryName } from '../layout.js';
import type { Columns } from './trace-columns.js';

/** What one recording's columns are kept under. `version` names the sample files as they are: other files, other columns. */
export interface OverviewKey {
  upload: string;
  version: string;
}

/** Recordings kept; the ones that were written longest ago go first. About 0.1 MB a signal, 1 to 7 MB a recording. */
const KEPT_RECORDINGS = 400;
const ROWS_FILE = 'rows.columns';

/**
 * Columns of whole recordings, kept as files so that nobody waits twice for a long log to be read through:
 *
 *   .overviews/<upload>/rows.columns       bucket, first and last instant of each column
 *   .overviews/<upload>/<signal>.columns   first, lowest, highest and last value of each column
 *
 * A file: its header's length (uint32, little endian), the header (JSON: version, columns), padding to 8 bytes, then
 * the arrays one after the other: float64 in `rows`, float32 (as samples have) in a signal's. Everything can be made again
 * from the samples: a file that is missing, of another version or unreadable counts as not there.
 */
export class OverviewFiles {
  private readonly directory: string;

  constructor(lakeDirectory: string) {
    this.directory = join(lakeDirectory, '.overviews');
  }

  /** In the order asked; null = not kept. */
  async read(key: OverviewKey, signals: readonly string[]): Promise<(Columns | null)[]> {
    const rows = await this.readArrays(key, ROWS_FILE, 3, Float64Array);
    if (!rows) return signals.map(() => null);
    const [bucket, atMs, untilMs] = rows as [Float64Array, Float64Array, Float64Array];
    return Promise.all(
      signals.map(async (signal) => {
        const figures = await this.readArrays(key, fileOf(signal), 4, Float32Array);
        if (!figures || figures[0]!.length !== bucket.length) return null;
        const [first, min, max, last] = figures.map((values) => Float64Array.from(values));
        return { bucket, atMs, untilMs, figures: { first: first!, min: min!, max: max!, last: last! } };
      }),
    );
  }

  /** Keeps them for the next reader. @throws when the disk is full or may not be written */
  async write(key: OverviewKey, signals: readonly string[], columns: readonly Columns[]): Promise<void> {
    const { bucket, atMs, untilMs } = columns[0]!;
    const folder = this.folder(key);
    await mkdir(folder, { recursive: true });
    await this.writeArrays(key, ROWS_FILE, [bucket, atMs, untilMs]);
    for (const [index, signal] of signals.entries()) {
      const { first, min, max, last } = columns[index]!.figures;
      const narrow = [first, min, max, last].map((values) => Float32Array.from(values));
      await this.writeArrays(key, fileOf(signal), narrow);
    }
    await this.prune();
  }

  private folder({ upload }: OverviewKey): string {
    return join(this.directory, vehicleDirectoryName(upload));
  }

  private async readArrays<A extends typeof Float64Array | typeof Float32Array>(
    key: OverviewKey,
    name: string,
    count: number,
    array: A,
  ): Promise<InstanceType<A>[] | null> {
    const bytes = await readFile(join(this.folder(key), name)).catch(() => null);
    if (!bytes || bytes.length < 4) return null;
    const headerEnd = 4 + bytes.readUInt32LE(0);
    const header = headerFrom(bytes.subarray(4, headerEnd));
    const start = aligned(headerEnd);
    if (header?.version !== key.version) return null;
    if (bytes.length !== start + header.columns * count * array.BYTES_PER_ELEMENT) return null;
    // Into memory of its own: a file's buffer may begin anywhere, typed arrays may not.
    const body = Uint8Array.from(bytes.subarray(start)).buffer;
    return Array.from(
      { length: count },
      (_, index) =>
        new array(body, index * header.columns * array.BYTES_PER_ELEMENT, header.columns) as InstanceType<A>,
    );
  }

  private async writeArrays(
    key: OverviewKey,
    name: string,
    arrays: readonly (Float64Array | Float32Array)[],
  ): Promise<void> {
    const header = Buffer.from(JSON.stringify({ version: key.version, columns: arrays[0]!.length }));
    const lead = Buffer.alloc(aligned(4 + header.length));
    lead.writeUInt32LE(header.length, 0);
    header.copy(lead, 4);
    const parts = arrays.map(({ buffer, byteOffset, byteLength }) => Buffer.from(buffer, byteOffset, byteLength));
    const file = join(this.folder(key), name);
    const staging = `${file}.${process.pid}.${Math.floor(performance.now() * 1000)}`;
    await writeFile(staging, Buffer.concat([lead, ...parts]));
    await rename(staging, file);
  }

  private async prune(): Promise<void> {
    const names = await readdir(this.directory);
    if (names.length <= KEPT_RECORDINGS) return;
    const folders = names.map((name) => join(this.directory, name));
    const aged = await Promise.all(folders.map(async (path) => ({ path, at: (await stat(path)).mtimeMs })));
    aged.sort((a, b) => a.at - b.at);
    for (const { path } of aged.slice(0, aged.length - KEPT_RECORDINGS))
      await rm(path, { recursive: true, force: true });
  }
}

/** Ids of the catalogue are names of files as they are; a header may be longer than a name can be. */
const fileOf = (signal: string): string =>
  `${/^[a-z0-9_]+$/.test(signal) ? signal : createHash('sha256').update(signal).digest('hex')}.columns`;

const aligned = (length: number): number => Math.ceil(length / 8) * 8;

function headerFrom(bytes: Uint8Array): { version: string; columns: number } | null {
  try {
    const parsed = JSON.parse(Buffer.from(bytes).toString('utf8')) as { version?: unknown; columns?: unknown };
    const { version, columns } = parsed;
    return typeof version === 'string' && typeof columns === 'number' ? { version, columns } : null;
  } catch {
    // Cut off or not ours: made again from the samples.
    return null;
  }
}
