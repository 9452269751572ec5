import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AnalystSandbox, commitStaged, initLake, Lake, stageSnapshot } from '@tallybay/lake';
import { expect, it, onTestFinished } from 'vitest';
import { z } from 'zod';
import { openPlainLake } from '../../unit/libs/lake/plain-lake.js';
import { snapshotOf, UPLOADS, vehicleOf } from './children/again-rows.mjs';

// Own rule: an upload that is decoded again has its old rows or its new ones, in all
// tables alike, for whoever asks at any moment and after a kill at any moment. The child is the built library.

const SCRIPT = join(import.meta.dirname, 'children', 'again.mjs');
const sql = (where: string) => `SELECT
  string_agg(u.upload_id || ' ' || u.vehicle_id || ' ' || u.file_name, ', ' ORDER BY u.upload_id) AS uploads,
  (SELECT string_agg(s.upload_id || ' ' || s.vehicle_id || ' ' || s.odometer_km::INT, ', ' ORDER BY s.upload_id) FROM snapshots s) AS snapshots,
  (SELECT string_agg(c.upload_id || ' ' || c.code || ' ' || c.occurrences, ', ' ORDER BY c.upload_id, c.code) FROM codes c) AS codes
FROM uploads u ${where}`;
const ASK = sql('');
const said = z.object({ uploads: z.string(), snapshots: z.string(), codes: z.string().nullable() });

async function filledLake(): Promise<string> {
  const lake = mkdtempSync(join(tmpdir(), 'tallybay-again-'));
  onTestFinished(() => rmSync(lake, { recursive: true, force: true }));
  initLake(lake);
  for (const uploadId of UPLOADS) {
    const identity = { uploadId, vehicleId: vehicleOf(uploadId, 0), recorderId: null, fileName: '0' };
    await commitStaged(
      lake,
      stageSnapshot(lake, { ...identity, catalogueVersion: 'test' }, snapshotOf(0) as never, 'test'),
    );
  }
  return lake;
}

type Said = z.infer<typeof said>;

/** What every table must say if each upload's rows are of the decode that the table `uploads` names. @returns the decodes */
function attemptsIn(answer: Said, who: string): number[] {
  const uploads = answer.uploads.split(', ').map((one) => one.split(' '));
  expect(uploads.map(([id]) => id)).toEqual(UPLOADS);
  const attempts = uploads.map(([, , attempt]) => Number(attempt));
  const whole = uploads.map(([id], index) => `${id} ${vehicleOf(id!, attempts[index]!)} ${attempts[index]}`);
  const codes = uploads.flatMap(([id], index) =>
    snapshotOf(attempts[index]!).codes.map(({ code, occurrences }) => `${id} ${code} ${occurrences}`),
  );
  const expected = { uploads: whole.join(', '), snapshots: whole.join(', '), codes: codes.join(', ') || null };
  expect(answer, who).toEqual(expected);
  return attempts;
}

/** Once a newer decode has been seen, an older one must not come back. */
function expectNoneOlder(attempts: readonly number[], least: readonly number[], who: string): void {
  const isKept = attempts.every((one, index) => one >= least[index]!);
  expect(isKept, `${who} ${attempts} after ${least}`).toBe(true);
}

/** The services' reader, an analyst's process and the plain DuckDB command line, all open the whole time. */
async function openReaders(lake: string): Promise<Record<string, () => Promise<Said>>> {
  const own = await Lake.open(lake, { threads: 1, tables: ['uploads', 'snapshots', 'codes'] });
  const sandbox = await AnalystSandbox.open({ lake, results: join(lake, 'results'), threads: 1, memoryMb: 256 });
  const plain = await openPlainLake(lake);
  onTestFinished(() => own.close());
  const analyst = async (): Promise<Said> => {
    const texts: string[] = [];
    const asked = sandbox.answer({ sql: ASK, format: 'json', shape: 'objects', maxRows: 10 });
    for await (const part of asked) if (part.kind === 'bytes') texts.push(Buffer.concat(part.bytes).toString());
    return said.parse((JSON.parse(texts.join('')) as { rows: unknown[] }).rows[0]);
  };
  return {
    service: async () => (await own.query(ASK, said))[0]!,
    analyst,
    plain: async () => said.parse((await plain.runAndReadAll(ASK)).getRowObjectsJS()[0]),
  };
}

function startChild(
  lake: string,
  ...given: number[]
): { child: ChildProcess; text: () => string; ended: Promise<unknown> } {
  const child = spawn(process.execPath, [SCRIPT, lake, ...given.map(String)], { stdio: 'pipe' });
  const texts: string[] = [];
  for (const stream of [child.stdout!, child.stderr!])
    stream.setEncoding('utf8').on('data', (text: string) => texts.push(text));
  onTestFinished(() => void child.kill('SIGKILL'));
  const ended = new Promise((resolve) => child.once('close', (_code, signal) => resolve(signal)));
  return { child, text: () => texts.join(''), ended };
}

const lastAttempt = (text: string) => Number(/attempt (\d+)\n$/.exec(text)?.[1]);

it('after a kill before any change of a folder each upload has one decode, and its next delivery goes on', async () => {
  const lake = await filledLake();
  const readers = await openReaders(lake);
  let attempt = 1;
  let least = [0, 0, 0];
  // Each goes on where the one before was killed. The first ones fall on every step of one upload.
  for (const mostChanges of [0, 1, 2, 3, 4, 5, 45]) {
    const killed = startChild(lake, attempt, 0, mostChanges);
    expect(await killed.ended, killed.text()).toBe('SIGKILL');
    for (const [who, ask] of Object.entries(readers)) {
      const attempts = attemptsIn(await ask(), who);
      expectNoneOlder(attempts, least, who);
      least = attempts;
    }
    attempt = lastAttempt(killed.text());
  }
  expect(Math.max(...least)).toBeGreaterThanOrEqual(2);
});

it('whoever asks while uploads are decoded again gets one decode of each, in all tables alike', async () => {
  const lake = await filledLake();
  const readers = await openReaders(lake);
  const { child, text } = startChild(lake, 1, 1_500, 1e9);
  const counts = await Promise.all(
    Object.entries(readers).map(async ([who, ask]) => {
      let least = [0, 0, 0];
      const seen = new Set<number>();
      const untilMs = Date.now() + 2_000;
      let answers = 0;
      for (; Date.now() < untilMs || seen.size < 3; answers++) {
        expect(child.exitCode, text()).toBeNull();
        const attempts = attemptsIn(await ask(), who);
        expectNoneOlder(attempts, least, who);
        least = attempts;
        seen.add(attempts[0]!);
      }
      return `${who} ${answers} answers, ${seen.size} decodes`;
    }),
  );
  console.log(counts.join('; '));
  child.kill('SIGKILL');
});

it('a decode that is delivered once more writes the same names and changes nothing', async () => {
  const lake = await filledLake();
  const deliver = (owner: string) => {
    const identity = { uploadId: 'u1', vehicleId: 'KV-A', attempt: 1, recorderId: null, fileName: '1' };
    const staged = stageSnapshot(lake, { ...identity, catalogueVersion: 'test' }, snapshotOf(1) as never, owner);
    return commitStaged(lake, staged);
  };
  await deliver('first');
  const names = () =>
    ['uploads', 'snapshots', 'codes', 'withheld'].map((folder) => readdirSync(join(lake, folder), { recursive: true }));
  const before = names();
  expect(existsSync(join(lake, 'codes', 'KV-A', 'u1-0000-r1.parquet'))).toBe(true);
  await deliver('second');
  expect(names()).toEqual(before);
});
