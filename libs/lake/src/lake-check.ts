import { mkdir, open, readdir, rename } from 'node:fs/promises';
import { basename, dirname, join, sep } from 'node:path';
import { damagedDirectory, partNamed, tableDirectory } from './layout.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';
import { packNamed } from './upkeep/packs.js';
import { withheldFiles } from './upkeep/withheld.js';

export interface DamagedFile {
  /** Relative to the lake, where it was. */
  file: string;
  uploadId: string | null;
  why: string;
}

const MAGIC = 'PAR1';
/** Magic, footer, footer length, magic: nothing shorter can be a Parquet file (Apache Parquet, "File format"). */
const SHORTEST_BYTES = 12;

/**
 * Looks at the frame of every Parquet file in the lake: magic at both ends, footer within the file. One damaged file would
 * make every query of its table fail, so it is moved to `.damaged/`, where no query looks; decoding its upload again
 * brings the rows back. A file that goes away meanwhile is passed over. `files` are those with rows, as `lakeSize` counts them.
 */
export async function checkLake(lake: string): Promise<{ files: number; damaged: DamagedFile[] }> {
  const damaged: DamagedFile[] = [];
  let files = 0;
  const withheld = withheldFiles(lake);
  for (const table of Object.keys(LAKE_TABLES) as LakeTable[]) {
    const directory = tableDirectory(lake, table);
    for (const name of await readdir(directory, { recursive: true })) {
      if (!name.endsWith('.parquet')) continue;
      // The table's empty `_schema.parquet` is looked at too, but is no file of anybody's rows: `lakeSize` counts the same.
      if (name.includes(sep)) files++;
      const why = await frameProblem(join(directory, name));
      if (why === null) continue;
      const file = join(table, name);
      // One that does not count is missed by nobody; the plain command line would still open it.
      const uploads = withheld.has(file) ? [] : uploadsOf(lake, name);
      if (await setAside(lake, file)) damaged.push(...uploads.map((uploadId) => ({ file, uploadId, why })));
    }
  }
  return { files, damaged };
}

/** What is wrong with the file's frame, or null. */
async function frameProblem(path: string): Promise<string | null> {
  const handle = await open(path, 'r').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return null;
    throw error;
  });
  if (!handle) return null;
  try {
    const { size } = await handle.stat();
    if (size < SHORTEST_BYTES) return `it has ${size} bytes, a Parquet file at least ${SHORTEST_BYTES}`;
    const head = await bytesAt(handle, 0, 4);
    const tail = await bytesAt(handle, size - 8, 8);
    if (head.toString('latin1') !== MAGIC) return 'it does not begin as a Parquet file';
    if (tail.toString('latin1', 4) !== MAGIC) return `it ends at byte ${size} without the end of a Parquet file`;
    const footer = tail.readUInt32LE(0);
    if (footer + SHORTEST_BYTES > size) return `its footer of ${footer} bytes is longer than the file of ${size}`;
    return null;
  } finally {
    await handle.close();
  }
}

async function bytesAt(handle: Awaited<ReturnType<typeof open>>, position: number, length: number): Promise<Buffer> {
  const bytes = Buffer.alloc(length);
  await handle.read(bytes, 0, length, position);
  return bytes;
}

async function setAside(lake: string, file: string): Promise<boolean> {
  await mkdir(damagedDirectory(lake), { recursive: true });
  try {
    await rename(join(lake, file), join(damagedDirectory(lake), file.replaceAll('/', '__')));
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return false;
    throw error;
  }
}

/** @param name `<vehicle>/<file>` */
const uploadsOf = (lake: string, name: string): (string | null)[] =>
  packNamed(lake, dirname(name), basename(name))?.uploads ?? [partNamed(basename(name))?.uploadId ?? null];
