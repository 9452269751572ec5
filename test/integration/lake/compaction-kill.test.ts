import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { initLake, Lake, partFile, writeTableFile } from '@tallybay/lake';
import { expect, it, onTestFinished } from 'vitest';
import { z } from 'zod';
import { openPlainLake } from '../../unit/libs/lake/plain-lake.js';

// Own rule (issue "The analyst's history", upkeep): safe while queries run and after a kill at any moment. The child is the
// built library, as the service runs it.

const SCRIPT = join(import.meta.dirname, 'children', 'tidy.mjs');
const DAY = 86_400_000;
const MONDAY = (Math.floor((Date.now() / DAY - 4) / 7) - 9) * 7 * DAY + 4 * DAY;
const UPLOADS = 6;
const ROWS = 500;

function filledLake(): string {
  const lake = mkdtempSync(join(tmpdir(), 'tallybay-tidy-'));
  onTestFinished(() => rmSync(lake, { recursive: true, force: true }));
  initLake(lake);
  for (let n = 0; n < UPLOADS; n++) {
    const key = { vehicle_id: `KV-${n % 2}`, upload_id: `u${n}` };
    const first = MONDAY + n * 3_600_000;
    const put = (table: 'samples' | 'markers' | 'uploads', rows: object[]) => {
      const file = partFile(lake, table, key.vehicle_id, key.upload_id, 0);
      mkdirSync(dirname(file), { recursive: true });
      writeTableFile(file, table, rows.map((row) => ({ ...key, ...row })) as never);
    };
    const row = (_: unknown, at: number) => ({ row_no: at + 1, time: first + at * 100, coolant_temp_c: 80 + (at % 7) });
    put('samples', Array.from({ length: ROWS }, row));
    put('markers', [{ row_no: 1, time: first, text: 'it' }]);
    put('uploads', [{ kind: 'log', first_at: first, last_at: first + ROWS * 100 }]);
  }
  return lake;
}

const SUMS = `SELECT count(*)::INT AS rows, sum(coolant_temp_c)::DOUBLE AS sum, sum(row_no)::DOUBLE AS numbers,
  (SELECT count(*) FROM markers)::INT AS markers, (SELECT count(DISTINCT upload_id) FROM uploads)::INT AS uploads,
  (SELECT count(*) FROM uploads)::INT AS upload_rows FROM samples`;
const sums = z.record(z.string(), z.number());

/** The services' reader and the plain DuckDB command line, both open the whole time. */
async function openReaders(lake: string): Promise<() => Promise<unknown[]>> {
  const own = await Lake.open(lake, { threads: 1, tables: ['samples', 'markers', 'uploads'] });
  const plain = await openPlainLake(lake);
  onTestFinished(() => own.close());
  const ownAnswer = async () => (await own.query(SUMS, sums))[0]!;
  const plainAnswer = async () => {
    for (;;)
      try {
        return (await plain.runAndReadAll(SUMS)).getRowObjectsJS()[0]!;
      } catch (error) {
        // It lists files by a pattern: one that was removed before it could be opened ends the question, nothing else.
        if (!String(error).includes('No such file')) throw error;
      }
  };
  return async () => [await ownAnswer(), await plainAnswer()];
}

function startChild(lake: string, graceMs: number, mostChanges: number): { child: ChildProcess; said: string[] } {
  const child = spawn(process.execPath, [SCRIPT, lake, String(graceMs), String(mostChanges)], { stdio: 'pipe' });
  const said: string[] = [];
  for (const stream of [child.stdout!, child.stderr!])
    stream.setEncoding('utf8').on('data', (text: string) => said.push(text));
  onTestFinished(() => void child.kill('SIGKILL'));
  return { child, said };
}

const ended = (child: ChildProcess) =>
  new Promise((resolve) => child.once('close', (_code, signal) => resolve(signal)));

it('after a kill before any change of a folder, the same rows are there, and the next one goes on', async () => {
  const lake = filledLake();
  const read = await openReaders(lake);
  const before = await read();
  expect(before[0]).toMatchObject({ rows: UPLOADS * ROWS, markers: UPLOADS, uploads: UPLOADS, upload_rows: UPLOADS });
  const said: string[] = [];
  // Each goes on where the one before was killed, so that the kills fall on steps of every kind.
  for (const mostChanges of [2, 7, 12, 25, 40]) {
    const killed = startChild(lake, 0, mostChanges);
    expect(await ended(killed.child), killed.said.join('')).toBe('SIGKILL');
    said.push(...killed.said);
    expect(await read(), `${mostChanges}`).toEqual(before);
  }
  const lines = said.join('').split('\n');
  expect(lines.indexOf('packed')).toBeGreaterThanOrEqual(0);
  expect(lines.lastIndexOf('packed')).toBeGreaterThan(lines.indexOf('unpacked'));
  expect(lines).toContain('unpacked');
});

it('whoever asks while packs are made, taken apart and removed gets the same answer each time', async () => {
  const lake = filledLake();
  const read = await openReaders(lake);
  const before = await read();
  const { child, said } = startChild(lake, 700, 1e9);
  const untilMs = Date.now() + 1_500;
  let answers = 0;
  for (; Date.now() < untilMs || !said.join('').includes('unpacked'); answers++) {
    expect(child.exitCode, said.join('')).toBeNull();
    expect(await read()).toEqual(before);
    await pause(1);
  }
  console.log(`${answers} times the same answer from two readers`);
  expect(answers).toBeGreaterThan(5);
});
