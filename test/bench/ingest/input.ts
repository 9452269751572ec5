import { createWriteStream } from 'node:fs';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { benchLog } from '@tallybay/synthetic-fleet';

/** Writes the bench's logs as plain files; the same options give the same bytes. */
export async function writeBenchInput(
  directory: string,
  options: { logs: number; rows: number; columns: number; seed: number },
  onDone: (done: number) => void,
): Promise<void> {
  for (let i = 0; i < options.logs; i++) {
    const log = benchLog({ seed: `${options.seed}/${i}`, rows: options.rows, columns: options.columns });
    await pipeline(Readable.from(log), createWriteStream(join(directory, `log-${String(i).padStart(3, '0')}.csv`)));
    onDone(i + 1);
  }
}
