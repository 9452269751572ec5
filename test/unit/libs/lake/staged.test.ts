import { mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import {
  commitStaged,
  filesOfUpload,
  initLake,
  revisionFile,
  StagedTakenAway,
  type StagedUpload,
  stageSnapshot,
  stagingDirectory,
} from '@tallybay/lake';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

// Own rule (issue "Apache Kafka for real"): whatever two decodes of one upload do to each other, its rows are in the lake once.

let directory: string;
beforeEach(() => {
  directory = mkdtempSync(join(tmpdir(), 'tallybay-staged-'));
  initLake(directory);
});
afterEach(() => rmSync(directory, { recursive: true }));

function stage(vehicleId: string, attempt: number, uploadId = 'u1'): StagedUpload {
  const identity = { vehicleId, uploadId, recorderId: null, fileName: null, catalogueVersion: 'test', attempt };
  return stageSnapshot(directory, identity, { version: 1, time: '2026-10-05T08:00:00Z' } as never, `owner-${attempt}`);
}

/** Whether there are rows that count, and how many files of them: never two decodes' at once. */
const has = (vehicleId: string, table: 'snapshots' | 'uploads', uploadId = 'u1') => {
  const { paths } = filesOfUpload(directory, table, { vehicleId, uploadId });
  expect(paths.length).toBeLessThanOrEqual(1);
  return paths.length > 0;
};
const vehiclesWith = (table: 'snapshots' | 'uploads') => ['A', 'B'].filter((vehicle) => has(vehicle, table));
const staged = () => readdirSync(stagingDirectory(directory));

/** As a process does that is stopped after these renames. */
function showUpTo(upload: StagedUpload, count: number): void {
  for (const file of upload.files.slice(0, count)) {
    const target = revisionFile(directory, file.table, upload, upload.attempt);
    mkdirSync(dirname(target), { recursive: true });
    renameSync(file.staging, target);
    file.visible = true;
  }
}

describe('two decodes of one upload, for two vehicles', () => {
  it('the older cannot show anything after the newer has begun to', async () => {
    const older = stage('A', 0);
    await commitStaged(directory, stage('B', 1), ['A']);
    await expect(commitStaged(directory, older)).rejects.toBeInstanceOf(StagedTakenAway);
    expect([vehiclesWith('snapshots'), vehiclesWith('uploads'), staged()]).toEqual([['B'], ['B'], []]);
  });

  it('what the older has shown by then is removed by the newer', async () => {
    const older = stage('A', 0);
    showUpTo(older, 1);
    await commitStaged(directory, stage('B', 1), ['A']);
    await expect(commitStaged(directory, older)).rejects.toBeInstanceOf(StagedTakenAway);
    expect([vehiclesWith('snapshots'), vehiclesWith('uploads'), staged()]).toEqual([['B'], ['B'], []]);
  });

  it('an older one that is stopped while it removes files learns that it came too late', async () => {
    const older = stage('A', 1);
    showUpTo(older, older.files.length - 1);
    await commitStaged(directory, stage('B', 2), ['A']);
    await expect(commitStaged(directory, older, ['B'])).rejects.toBeInstanceOf(StagedTakenAway);
  });

  it('the newer one in staging is not taken away by the older, nor is another upload', async () => {
    const newer = stage('B', 2);
    const other = stage('A', 0, 'u1-other');
    await commitStaged(directory, stage('A', 1));
    await commitStaged(directory, newer, ['A']);
    await commitStaged(directory, other);
    expect([vehiclesWith('snapshots'), vehiclesWith('uploads')]).toEqual([['B'], ['B']]);
    expect(has('A', 'uploads', 'u1-other')).toBe(true);
  });

  it('at the same moment: the newer is there in full and alone, or the older knows that it must be decoded anew', async () => {
    let tookAway = 0;
    for (let run = 0; run < 60; run++) {
      const uploadId = `r${run}`;
      const [older, newer] = [stage('A', 1, uploadId), stage('B', 2, uploadId)];
      const showing = commitStaged(directory, older, ['B']);
      // Every fourth time one after the other, else the newer begins somewhere in the course of the older.
      if (run % 4 === 3) await showing.catch(() => {});
      for (let n = 0; n < (run * 7) % 60; n++) await turn();
      const [first, second] = await Promise.allSettled([showing, commitStaged(directory, newer, ['A'])]);
      expect(second.status).toBe('fulfilled');
      const whole = has('B', 'snapshots', uploadId) && has('B', 'uploads', uploadId);
      if (first.status === 'rejected') {
        expect(first.reason).toBeInstanceOf(StagedTakenAway);
        tookAway++;
      } else expect(whole, `run ${run}`).toBe(true);
      expect(has('A', 'snapshots', uploadId) || has('A', 'uploads', uploadId), `run ${run}`).toBe(false);
    }
    console.log(`60 runs, the older came too late in ${tookAway}`);
    expect(tookAway).toBeGreaterThan(0);
    expect(tookAway).toBeLessThan(60);
  });

  it('staged files that vanish for another reason are no silent success either', async () => {
    const upload = stage('A', 0);
    rmSync(upload.files[0]!.staging);
    await expect(commitStaged(directory, upload)).rejects.toBeInstanceOf(StagedTakenAway);
  });
});
