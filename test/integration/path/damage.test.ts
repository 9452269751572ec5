import { mkdtempSync, readdirSync, readFileSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { DeadLetterList, DecodeAgainResult, LakeCheck, ReplayResult, Upload } from '@tallybay/contracts';
import { LAKE_TABLES } from '@tallybay/lake';
import { openStream } from '@tallybay/stream';
import { describe, expect, it, onTestFinished } from 'vitest';
import { fillUp, smallDisk } from '../../faults/damage-scenario.js';
import { readLake } from '../../faults/fingerprint.js';
import { Load, type SentLog } from '../../faults/load.js';
import { ended, get, Path, type PathProcess, postJson } from '../../faults/path.js';
import { compareLake, isClean, reportLines } from '../../faults/report.js';

interface Scene {
  path: Path;
  ingest: PathProcess;
  load: Load;
}

async function scene(environment: Record<string, string> = {}, home?: string): Promise<Scene> {
  const path = await Path.create({ TALLYBAY_LAKE_PATIENCE_SECONDS: '1', ...environment }, home);
  onTestFinished(() => path.close());
  const ingest = await path.add('all');
  return { path, ingest, load: new Load(() => [ingest.url], 7) };
}

/** Prints the totals and holds the lake against everything that was acknowledged. */
async function expectComplete({ path, load }: Scene, name: string): Promise<void> {
  const report = await compareLake(path, load, {
    name,
    done: { damages: 1 },
    reportedTooEarly: 0,
    beganMs: Date.now(),
  });
  console.log(reportLines(report).join('\n'));
  expect(report, JSON.stringify(report, null, 1)).toSatisfy(isClean);
}

function smallDiskForTest(megabytes: number): string {
  const disk = smallDisk(megabytes);
  onTestFinished(() => disk.remove());
  return disk.directory;
}

const samplesFile = (path: Path, log: SentLog) => join(path.lake, 'samples', log.vehicle, `${log.id}-0000.parquet`);

describe('a disk that is full while Parquet is written', { timeout: 120_000 }, () => {
  it('is waited for, and when there is room again everything is stored without anybody doing anything', async () => {
    const disk = smallDiskForTest(12);
    const home = mkdtempSync(join(tmpdir(), 'tallybay-path-'));
    const bound = bindLake(home, disk);
    const on = await scene({ TALLYBAY_LAKE_PATIENCE_SECONDS: '60' }, home);
    await on.load.sendOne(0);
    await on.path.settle();
    const filler = fillUp(bound);
    const log = await on.load.sendOne(2);
    await new Promise((resolve) => setTimeout(resolve, 1_500));
    expect((await get<Upload>(`${on.ingest.url}/v1/uploads/${log.id}`)).state).not.toBe('stored');
    await rm(filler);
    expect((await ended(on.ingest.url, log.id)).state).toBe('stored');
    await on.path.settle();
    await expectComplete(on, 'disk full for a moment');
  });

  it('for long: set aside with the reason, the rest goes on, and decode again is complete', async () => {
    const disk = smallDiskForTest(12);
    const home = mkdtempSync(join(tmpdir(), 'tallybay-path-'));
    const bound = bindLake(home, disk);
    const on = await scene({}, home);
    const filler = fillUp(bound);
    const logs = [await on.load.sendOne(2), await on.load.sendOne(0)];
    for (const log of logs) {
      const upload = await ended(on.ingest.url, log.id);
      expect(upload).toMatchObject({ state: 'failed', problem: { code: 'lake_unwritable' } });
      expect(upload.problem?.detail).toMatch(/ENOSPC/);
    }
    const { deadLetters } = await get<DeadLetterList>(`${on.ingest.url}/v1/dead-letters`);
    expect(new Set(deadLetters.map((letter) => letter.uploadId))).toEqual(new Set(logs.map((log) => log.id)));
    expect(readdirSync(join(on.path.lake, '.staging'))).toEqual([]);
    await rm(filler);
    await on.load.sendOne(1);
    const again = await postJson<DecodeAgainResult>(`${on.ingest.url}/v1/decode-again`, { state: 'failed' });
    expect(again.uploads.sort()).toEqual(logs.map((log) => log.id).sort());
    await on.path.settle();
    await expectComplete(on, 'disk full for long');
  });
});

describe('a damaged file', { timeout: 120_000 }, () => {
  it('in the lake, cut short or deleted: found, the rest can be asked, and decode again is complete', async () => {
    const on = await scene();
    const logs = [await on.load.sendOne(1), await on.load.sendOne(2), await on.load.sendOne(0)];
    await on.path.settle();
    const [, victim, deleted] = logs;
    truncateSync(samplesFile(on.path, victim!), 2_000);
    for (const table of Object.keys(LAKE_TABLES))
      await rm(join(on.path.lake, table, deleted!.vehicle, `${deleted!.id}-0000.parquet`), { force: true });
    await expect(readLake(on.path.lake)).rejects.toThrow();
    const check = await postJson<LakeCheck>(`${on.ingest.url}/v1/lake-check`, {});
    expect(check.damaged).toMatchObject([{ uploadId: victim!.id, file: expect.stringContaining('samples/') }]);
    expect(check.missing).toEqual([{ uploadId: deleted!.id, vehicle: deleted!.vehicle }]);
    const { uploads } = await readLake(on.path.lake);
    expect([...uploads.keys()]).toEqual([logs[0]!.id]);
    expect(await get<Upload>(`${on.ingest.url}/v1/uploads/${victim!.id}`)).toMatchObject({
      state: 'failed',
      problem: { code: 'lake_damaged', file: expect.stringContaining(victim!.id) },
    });
    await postJson(`${on.ingest.url}/v1/decode-again`, { state: 'failed' });
    await on.path.settle();
    await expectComplete(on, 'part file cut short');
  });

  it('in the lake is found at the next start too', async () => {
    const on = await scene();
    const log = await on.load.sendOne(0);
    await on.path.settle();
    await on.ingest.stop();
    truncateSync(samplesFile(on.path, log), 100);
    await on.ingest.start();
    for (
      let turn = 0;
      turn < 50 && (await get<Upload>(`${on.ingest.url}/v1/uploads/${log.id}`)).state === 'stored';
      turn++
    )
      await new Promise((resolve) => setTimeout(resolve, 100));
    expect((await get<Upload>(`${on.ingest.url}/v1/uploads/${log.id}`)).state).toBe('failed');
    await postJson(`${on.ingest.url}/v1/uploads/${log.id}/decode-again`, {});
    await on.path.settle();
    await expectComplete(on, 'part file cut short while stopped');
  });

  it('in the landing store: reported, old rows kept, the rest goes on; the file sent again heals it', async () => {
    const on = await scene();
    const { body, sent } = on.load.next(2);
    const send = () =>
      fetch(`${on.ingest.url}/v1/logs?vehicle=${sent.vehicle}`, { method: 'POST', body: new Uint8Array(body) });
    expect((await send()).status).toBe(202);
    on.load.acknowledged.push(sent);
    await on.load.sendOne(1);
    await on.path.settle();
    const landed = join(on.path.home, 'landing', sent.id.slice(0, 2), `${sent.id}.zst`);
    const bytes = readFileSync(landed);
    bytes[bytes.length - 5_000]! ^= 0xff;
    writeFileSync(landed, bytes);
    await postJson(`${on.ingest.url}/v1/uploads/${sent.id}/decode-again`, {});
    const failed = await ended(on.ingest.url, sent.id);
    expect(failed).toMatchObject({ state: 'failed', problem: { code: 'chunk_undecodable' } });
    await on.load.sendOne(0);
    await on.path.settle();
    const letters = await get<DeadLetterList>(`${on.ingest.url}/v1/dead-letters`);
    expect(letters.deadLetters).toMatchObject([
      { uploadId: sent.id, uploadState: 'failed', reason: { code: 'chunk_undecodable' } },
    ]);
    expect(letters.deadLetters[0]!.bytes).toBeGreaterThan(1_000);
    await expectComplete(on, 'landing file corrupted, rows of before');
    // Sending the same file once more brings good bytes and another decode.
    expect((await send()).status).toBe(200);
    expect((await ended(on.ingest.url, sent.id)).state).toBe('stored');
    await on.path.settle();
    await expectComplete(on, 'landing file corrupted, file sent again');
  });
});

describe('dead letters and their replay', { timeout: 120_000 }, () => {
  it('a message that this version cannot read is kept whole, and goes back to its topic when it is replayed', async () => {
    const on = await scene();
    const log = await on.load.sendOne(0);
    await on.path.settle();
    const stream = await openStream({ kind: 'spool', directory: join(on.path.home, 'spool') });
    onTestFinished(() => stream.close());
    const value = Buffer.from('from a later version');
    const headers = { meta: JSON.stringify({ version: 2, what: 'unknown' }) };
    await (await stream.producer()).send('tallybay.logs.v1', [{ key: log.vehicle, value, headers }]);
    await on.path.settle();
    const list = async () => (await get<DeadLetterList>(`${on.ingest.url}/v1/dead-letters`)).deadLetters;
    for (let turn = 0; turn < 50 && (await list()).length === 0; turn++) await new Promise((r) => setTimeout(r, 100));
    const [letter] = await list();
    expect(letter).toMatchObject({
      key: log.vehicle,
      bytes: value.length,
      uploadId: null,
      reason: { code: 'chunk_undecodable' },
    });
    const [kept] = await stream.browse('tallybay.dead-letters.v1', 1);
    expect(Buffer.from(kept!.value)).toEqual(value);
    const replayed = await postJson<ReplayResult>(`${on.ingest.url}/v1/dead-letters/replay`, { ids: [letter!.id] });
    expect(replayed.messages).toEqual([letter!.id]);
    // It still cannot be read, so it is set aside again, from its new place.
    for (let turn = 0; turn < 50 && (await list()).length < 2; turn++) await new Promise((r) => setTimeout(r, 100));
    expect((await list()).length).toBe(2);
    await expect(postJson(`${on.ingest.url}/v1/dead-letters/replay`, { ids: ['x/0/0'] })).rejects.toThrow(
      /dead_letter_unknown/,
    );
    await expectComplete(on, 'unreadable message on the stream');
  });

  it('a replay after the fix puts exactly the missing rows into the lake', async () => {
    const on = await scene();
    const logs = [await on.load.sendOne(1), await on.load.sendOne(2)];
    await on.path.settle();
    const victim = logs[1]!;
    const landed = join(on.path.home, 'landing', victim.id.slice(0, 2), `${victim.id}.zst`);
    const good = readFileSync(landed);
    const bad = Buffer.from(good);
    bad[bad.length - 4_000]! ^= 0x10;
    writeFileSync(landed, bad);
    await rm(samplesFile(on.path, victim));
    await postJson(`${on.ingest.url}/v1/uploads/${victim.id}/decode-again`, {});
    expect((await ended(on.ingest.url, victim.id)).state).toBe('failed');
    expect((await readLake(on.path.lake)).uploads.has(victim.id)).toBe(false);
    writeFileSync(landed, good);
    expect(await postJson<ReplayResult>(`${on.ingest.url}/v1/dead-letters/replay`, {})).toMatchObject({
      uploads: [victim.id],
      refused: [],
    });
    await on.path.settle();
    await expectComplete(on, 'replay after a fix');
    // Nothing is failed any more, so a second replay does nothing.
    expect(await postJson<ReplayResult>(`${on.ingest.url}/v1/dead-letters/replay`, {})).toMatchObject({ uploads: [] });
  });
});

describe('decode again', { timeout: 120_000 }, () => {
  it('of a vehicle, of a week, and of one upload for another vehicle leaves every row once', async () => {
    const on = await scene();
    const logs: SentLog[] = [];
    for (let n = 0; n < 10; n++) logs.push(await on.load.sendOne(n % 3));
    await on.path.settle();
    const again = (body: object) => postJson<DecodeAgainResult>(`${on.ingest.url}/v1/decode-again`, body);
    const ofVehicle = await again({ vehicle: logs[0]!.vehicle });
    expect(ofVehicle.uploads.sort()).toEqual(
      logs
        .filter((log) => log.vehicle === logs[0]!.vehicle)
        .map((log) => log.id)
        .sort(),
    );
    await on.path.settle();
    // The first logs are of 2023-01-01 14:00Z (a Sunday, ISO week 2022-W52) and the days after it.
    const ofWeek = await again({ week: '2022-W52' });
    expect(ofWeek.uploads).toEqual([logs[0]!.id]);
    await on.path.settle();
    const moved = logs[3]!;
    const target = logs[4]!.vehicle;
    await postJson(`${on.ingest.url}/v1/uploads/${moved.id}/decode-again`, { vehicle: target });
    moved.vehicle = target;
    await on.path.settle();
    await expectComplete(on, 'decoded again by vehicle, week and for another vehicle');
    await expect(again({})).rejects.toThrow(/body_invalid/);
  });
});

/** The lake of this home is on that disk. */
function bindLake(home: string, disk: string): string {
  symlinkSync(disk, join(home, 'lake'));
  return disk;
}
