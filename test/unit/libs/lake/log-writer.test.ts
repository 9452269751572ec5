import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { LogPlan, LogSummary, SampleBatch, SignalId } from '@tallybay/decode';
import {
  commitStaged,
  initLake,
  Lake,
  LogWriter,
  partFile,
  stagingDirectory,
  vehicleDirectoryName,
} from '@tallybay/lake';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';

let directory: string;
beforeEach(() => {
  directory = mkdtempSync(join(tmpdir(), 'tallybay-lake-'));
  initLake(directory);
});
afterEach(() => rmSync(directory, { recursive: true }));

const signals: SignalId[] = ['coolant_temp_c', 'engine_speed_rpm'];
const plan = {
  version: 1,
  format: 'csv',
  signals,
  channels: [{ header: 'Time' }, { header: 'ECT' }, { header: 'RPM' }, { header: 'Aux input 3' }],
} as unknown as LogPlan;

/** `count` rows at 10 Hz from row number `from`, in batches of `size`; every seventh coolant value is missing. */
function* batches(from: number, count: number, size: number): Generator<SampleBatch> {
  for (let start = 0; start < count; start += size) {
    const rowCount = Math.min(size, count - start);
    const of = (value: (row: number) => number) =>
      Float64Array.from({ length: size }, (_, i) => value(from + start + i));
    yield {
      rowCount,
      row: of((row) => row),
      timeMs: of((row) => Date.UTC(2026, 9, 5) + row * 100),
      values: [of((row) => (row % 7 === 0 ? Number.NaN : 80 + (row % 30) / 2)), of((row) => 600 + (row % 997))],
      markers: [],
      rejectCount: 0,
      rejectRow: new Int32Array(0),
      rejectSignal: new Int32Array(0),
      rejectReason: new Uint8Array(0),
      unmapped: start === 0 ? [{ row: from, timeMs: Date.UTC(2026, 9, 5) + from * 100, channel: 3, text: '' }] : [],
    };
  }
}

const summary = (rows: number): LogSummary => ({
  rows,
  rowsKept: rows,
  rowsRejectedBy: {},
  valuesRejectedBy: {},
  firstMs: Date.UTC(2026, 9, 5),
  lastMs: Date.UTC(2026, 9, 5) + rows * 100,
  gaps: 0,
  longestGapSeconds: 0,
  backwardSteps: 0,
  duplicateTimes: 0,
  countedSeconds: rows / 10,
  signals: [],
  segments: [
    {
      segment: 1,
      drive: 1,
      startMs: Date.UTC(2026, 9, 5),
      endMs: Date.UTC(2026, 9, 5) + rows * 100,
      seconds: rows / 10,
      distanceKm: 12.5,
      distanceSource: 'odometer',
      fuelL: null,
      rows,
      stats: [],
    },
  ],
  dwell: [
    {
      segment: 1,
      drive: 1,
      signal: 'coolant_temp_c',
      low: 80,
      high: 80.5,
      seconds: 3,
      valueSeconds: 240,
      min: 80,
      max: 80.25,
    },
  ],
  markers: [{ row: 4, timeMs: Date.UTC(2026, 9, 5) + 400, text: 'hill' }],
});

function stage(vehicleId: string, rows: number, batchSize: number) {
  const identity = { vehicleId, uploadId: 'u1', recorderId: 'R-7', fileName: 'a.csv', catalogueVersion: 'test' };
  const writer = new LogWriter(directory, identity, plan, 'test');
  for (const batch of batches(1, rows, batchSize)) writer.add(batch);
  return writer.finish(summary(rows));
}

async function ask<T>(sql: string, row: z.ZodType<T>): Promise<T[]> {
  const lake = await Lake.open(directory);
  try {
    return await lake.query(sql, row);
  } finally {
    lake.close();
  }
}

const countRow = z.object({ n: z.number() });

describe('LogWriter and commitStaged', () => {
  it('put every row and every small table into the lake', async () => {
    const rows = 70_001;
    await commitStaged(directory, stage('KV-101', rows, 4096));
    const sample = z.object({ n: z.number(), nulls: z.number(), rpm: z.number(), first: z.number(), rows: z.number() });
    expect(
      await ask(
        `SELECT count(*) AS n, count(*) - count(coolant_temp_c) AS nulls, sum(engine_speed_rpm) AS rpm,
                epoch_ms(min(time)) AS first, count(DISTINCT row_no) AS rows FROM samples WHERE vehicle_id = 'KV-101'`,
        sample,
      ),
    ).toEqual([
      {
        n: rows,
        nulls: 10_000,
        rpm: Array.from({ length: rows }, (_, i) => 600 + ((i + 1) % 997)).reduce((a, b) => a + b),
        first: Date.UTC(2026, 9, 5) + 100,
        rows,
      },
    ]);
    expect(
      await ask(
        'SELECT drive_id, distance_km FROM drives',
        z.object({ drive_id: z.string(), distance_km: z.number() }),
      ),
    ).toEqual([{ drive_id: 'u1-d1', distance_km: 12.5 }]);
    expect(await ask('SELECT count(*) AS n FROM dwell WHERE seconds = 3 AND value_seconds = 240', countRow)).toEqual([
      { n: 1 },
    ]);
    expect(await ask('SELECT channel, text FROM unmapped', z.object({ channel: z.string(), text: z.null() }))).toEqual([
      { channel: 'Aux input 3', text: null },
    ]);
    expect(await ask('SELECT count(*) AS n FROM codes', countRow)).toEqual([{ n: 0 }]);
    expect(readdirSync(stagingDirectory(directory))).toEqual([]);
  });

  it('write the same bytes for the same upload, however it was cut into batches', async () => {
    await commitStaged(directory, stage('KV-101', 9_000, 4096));
    const file = partFile(directory, 'samples', 'KV-101', 'u1', 0);
    const first = readFileSync(file);
    await commitStaged(directory, stage('KV-101', 9_000, 77));
    expect(readFileSync(file).equals(first)).toBe(true);
    expect(await ask('SELECT count(*) AS n FROM samples', countRow)).toEqual([{ n: 9_000 }]);
  });

  it('move an upload that turned out to be from another vehicle', async () => {
    await commitStaged(directory, stage('KV-101', 500, 100));
    await commitStaged(directory, stage('KV-202', 500, 100), ['KV-101']);
    const row = z.object({ vehicle_id: z.string(), n: z.number() });
    for (const table of ['samples', 'drives', 'dwell', 'markers', 'uploads'])
      expect(await ask(`SELECT vehicle_id, count(*) AS n FROM ${table} GROUP BY ALL`, row)).toMatchObject([
        { vehicle_id: 'KV-202' },
      ]);
  });

  it('remove a table that the new decode no longer has', async () => {
    await commitStaged(directory, stage('KV-101', 500, 100));
    const again = stage('KV-101', 500, 100);
    again.files = again.files.filter((file) => file.table !== 'markers');
    await commitStaged(directory, again);
    expect(await ask('SELECT count(*) AS n FROM markers', countRow)).toEqual([{ n: 0 }]);
  });

  it('keep two logs apart that are decoded side by side after one was given up at its very end', async () => {
    const identity = (uploadId: string) => ({
      ...{ vehicleId: 'KV-101', uploadId, recorderId: null, fileName: null, catalogueVersion: 'test' },
    });
    // A disk that is full at the last small table: finished as far as the samples go, then given up.
    const givenUp = new LogWriter(directory, identity('u0'), plan, 'test');
    for (const batch of batches(1, 10, 10)) givenUp.add(batch);
    givenUp.finish(summary(10));
    givenUp.abort();
    const [first, second] = [identity('u1'), identity('u2')].map((id) => new LogWriter(directory, id, plan, 'test'));
    for (const batch of batches(1, 500, 500)) first!.add(batch);
    for (const batch of batches(1_001, 500, 500)) second!.add(batch);
    for (const writer of [first!, second!]) await commitStaged(directory, writer.finish(summary(500)));
    expect(
      await ask(
        'SELECT upload_id AS id, min(row_no) AS n, min(epoch_ms(time)) AS at FROM samples GROUP BY 1 ORDER BY 1',
        z.object({ id: z.string(), n: z.number(), at: z.number() }),
      ),
    ).toEqual([
      { id: 'u1', n: 1, at: Date.UTC(2026, 9, 5) + 100 },
      { id: 'u2', n: 1_001, at: Date.UTC(2026, 9, 5) + 100_100 },
    ]);
  });

  it('report a lake that cannot be written', async () => {
    const staged = stage('KV-101', 500, 100);
    // A file where the vehicle's folder should be.
    writeFileSync(join(directory, 'samples', 'KV-101'), '');
    await expect(commitStaged(directory, staged)).rejects.toMatchObject({ code: 'lake_unwritable' });
  });
});

describe('vehicleDirectoryName', () => {
  it('keeps plain ids and never leaves the lake', () => {
    expect(vehicleDirectoryName('KV-101')).toBe('KV-101');
    expect(vehicleDirectoryName('..')).toBe('%2E%2E');
    expect(vehicleDirectoryName('a/b c')).toBe('a%2Fb%20c');
  });
});
