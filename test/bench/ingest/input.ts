import { createWriteStream, existsSync, mkdirSync, readFileSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { type LogPlan, planAnyLog } from '@tallybay/decode';
import { benchLog } from '@tallybay/synthetic-fleet';

export interface BenchInput {
  logs: number;
  rows: number;
  columns: number;
  seed: number;
}

/** Folder of the bench's logs as plain files: generated once a parameter set and kept; never inside the timer. */
export async function prepareInput(options: BenchInput, tell: (line: string) => void): Promise<string> {
  const name = `ingest-s${options.seed}-${options.logs}x${options.rows}x${options.columns}`;
  const directory = join(tmpdir(), 'tallybay-bench', name);
  if (existsSync(directory)) return directory;
  tell(`generating ${options.logs} logs of ${options.rows} rows x ${options.columns} channels`);
  const fresh = `${directory}.new`;
  rmSync(fresh, { recursive: true, force: true });
  mkdirSync(fresh, { recursive: true });
  for (let i = 0; i < options.logs; i++) {
    const log = benchLog({ seed: `${options.seed}/${i}`, rows: options.rows, columns: options.columns });
    await pipeline(Readable.from(log), createWriteStream(join(fresh, `log-${String(i).padStart(3, '0')}.csv`)));
    tell(`  ${i + 1} of ${options.logs}`);
  }
  renameSync(fresh, directory);
  return directory;
}

/** How the service would read the log. */
export function planOf(file: string): LogPlan {
  const planned = planAnyLog(readFileSync(file).subarray(0, 65_536), {}, { complete: false });
  if (!planned.ok) throw new Error(`the bench's own log cannot be planned: ${planned.problem.detail}`);
  return planned.plan;
}
