import { join } from 'node:path';
import { Lake, listRankings } from '@tallybay/lake';
import { openRegistry } from '@tallybay/registry';
import { DEFAULT_RULES, weekWindow } from '@tallybay/risk';
import { pino } from 'pino';
import { describe, expect, it, onTestFinished } from 'vitest';
import { RankingSchedule } from '../../../apps/api/src/rankings/ranking.schedule.js';
import { WEEKLY_JOB, WeeklyJob } from '../../../apps/api/src/rankings/weekly-job.js';
import { putRows, temporaryLake } from '../../unit/libs/lake/lake-builder.js';

const ZONE = 'America/Denver';
const WEEK = '2026-W41';
const { fromMs, toMs } = weekWindow(WEEK, ZONE);
const HOUR_MS = 3_600_000;
const AFTER_WEEK_MS = toMs + 5 * HOUR_MS;

async function setUp(nowMs: () => number = () => AFTER_WEEK_MS) {
  const lakeDirectory = temporaryLake();
  const registry = await openRegistry({ kind: 'sqlite', file: join(lakeDirectory, 'registry.sqlite'), nowMs });
  onTestFinished(() => registry.close());
  await registry.importFleet({
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: ZONE }],
    vehicles: ['KV-101', 'KV-102'].map((id) => ({ id, vehicleClass: 'pickup', depot: 'north' })),
    assignments: [],
    profiles: [],
  });
  const openLake = () => Lake.open(lakeDirectory);
  const parts = { registry, lakeDirectory, openLake, rules: async () => DEFAULT_RULES };
  return { lakeDirectory, registry, parts, job: new WeeklyJob(parts) };
}

/** A drive of `hours` with `hotSeconds` of coolant at 121 °C, the rest at 90 °C. */
function putDrive(
  lake: string,
  vehicle: string,
  drive: { upload: string; startedMs: number; hours: number; hotSeconds: number },
) {
  const seconds = drive.hours * 3600;
  const key = { vehicle, upload: drive.upload };
  const common = { drive_id: `${drive.upload}-1`, segment: 1, started_at: drive.startedMs };
  putRows(lake, 'drives', key, [
    {
      ...common,
      ended_at: drive.startedMs + seconds * 1000,
      seconds,
      distance_km: 40,
      distance_source: 'odometer',
      rows: seconds,
    },
  ]);
  const bin = (low: number, inBin: number) => ({
    ...common,
    ...{
      signal: 'coolant_temp_c',
      low,
      high: low + 0.5,
      seconds: inBin,
      value_seconds: (low + 0.25) * inBin,
      min: low,
      max: low + 0.4,
    },
  });
  putRows(lake, 'dwell', key, [bin(90, seconds - drive.hotSeconds), bin(121, drive.hotSeconds)]);
  putRows(lake, 'signal_stats', key, [
    {
      ...common,
      ...{ signal: 'coolant_temp_c', channel: 'Coolant', source_unit: '°C', valid: seconds, blank: 0, seconds },
      ...{
        min: 20,
        max: 121.4,
        first: 20,
        last: 90,
        mean: 91,
        out_of_range: 0,
        unreadable: 0,
        jump: 0,
        stuck_seconds: 0,
      },
    },
  ]);
}

const first = { upload: 'u1', startedMs: fromMs + 30 * HOUR_MS, hours: 6, hotSeconds: 1200 };
const second = { upload: 'u2', startedMs: fromMs + 40 * HOUR_MS, hours: 6, hotSeconds: 0 };

const storedUpload = (id: string, startedMs: number, storedAtMs: number) => ({
  ...({ id, sha256: id, kind: 'log', state: 'stored', bytes: 1 } as const),
  receivedAt: new Date(storedAtMs).toISOString(),
  storedAt: new Date(storedAtMs).toISOString(),
  firstTime: new Date(startedMs).toISOString(),
  lastTime: new Date(startedMs + HOUR_MS).toISOString(),
});

describe('the weekly job', () => {
  it('publishes a ranking from the lake, and nothing new when nothing is new', async () => {
    const { job, lakeDirectory, registry } = await setUp();
    putDrive(lakeDirectory, 'KV-101', first);
    putDrive(lakeDirectory, 'KV-102', second);
    const { ranking, published } = await job.run(WEEK, AFTER_WEEK_MS);
    expect(published).toBe(true);
    expect(ranking).toMatchObject({ week: WEEK, revision: 1, provisional: false, timeZone: ZONE });
    expect(ranking.ranked.map((row) => row.vehicle)).toEqual(['KV-101', 'KV-102']);
    expect(ranking.ranked[0]!.score).toBeGreaterThan(ranking.ranked[1]!.score);
    const again = await job.run(WEEK, AFTER_WEEK_MS + HOUR_MS);
    expect(again).toMatchObject({ published: false, ranking: { revision: 1 } });
    expect(await registry.jobs.finishedWeeks(WEEKLY_JOB)).toEqual([WEEK]);
    expect(await registry.jobs.holder(WEEKLY_JOB)).toBeNull();
  });

  it('is due for complete weeks with data, and anew when more data came', async () => {
    const { job, lakeDirectory, registry } = await setUp();
    expect(await job.due(AFTER_WEEK_MS)).toEqual([]);
    putDrive(lakeDirectory, 'KV-101', first);
    expect(await job.due(toMs - 1)).toEqual([]);
    expect(await job.due(toMs)).toEqual([WEEK]);
    await job.run(WEEK, AFTER_WEEK_MS);
    expect(await job.due(AFTER_WEEK_MS)).toEqual([]);

    putDrive(lakeDirectory, 'KV-102', second);
    await registry.uploads.insertIfAbsent(storedUpload('u2', second.startedMs, AFTER_WEEK_MS + HOUR_MS));
    expect(await job.due(AFTER_WEEK_MS + 2 * HOUR_MS)).toEqual([WEEK]);
    const late = await job.run(WEEK, AFTER_WEEK_MS + 2 * HOUR_MS);
    expect(late).toMatchObject({ published: true, ranking: { revision: 2 } });
    expect(late.ranking.changes.join()).toContain('KV-102');
    expect(await job.due(AFTER_WEEK_MS + 3 * HOUR_MS)).toEqual([]);
  });

  it('ranks a running week provisionally and leaves it due', async () => {
    const { job, lakeDirectory } = await setUp();
    putDrive(lakeDirectory, 'KV-101', first);
    const { ranking } = await job.run(WEEK, fromMs + 60 * HOUR_MS);
    expect(ranking.provisional).toBe(true);
    expect(await job.due(AFTER_WEEK_MS)).toEqual([WEEK]);
    expect(await job.latestWeek(fromMs + 60 * HOUR_MS, '2026-W50')).toBe(WEEK);
  });

  it('runs once at a time, and after a run that died', async () => {
    let now = AFTER_WEEK_MS;
    const { job, lakeDirectory, registry } = await setUp(() => now);
    putDrive(lakeDirectory, 'KV-101', first);
    await registry.jobs.acquire(WEEKLY_JOB, 'somebody else', 60_000);
    await expect(job.run(WEEK, now)).rejects.toMatchObject({ code: 'job_running' });
    now += 60_000;
    await expect(job.run(WEEK, now)).resolves.toMatchObject({ published: true });
    await expect(job.run('2026-W54', now)).rejects.toMatchObject({ code: 'week_invalid' });
  });

  it('refuses a week that is yet to come, unless a recorder was there already', async () => {
    const { job, lakeDirectory, registry } = await setUp();
    putDrive(lakeDirectory, 'KV-101', first);
    await expect(job.run('2027-W02', AFTER_WEEK_MS)).rejects.toMatchObject({
      code: 'week_invalid',
      message: expect.stringContaining('2027-01-11'),
      options: { advice: `The newest week with data is ${WEEK}.` },
    });
    expect(await registry.jobs.holder(WEEKLY_JOB)).toBeNull();
    const ahead = await job.run(WEEK, fromMs - 40 * HOUR_MS);
    expect(ahead).toMatchObject({ published: true, ranking: { provisional: true } });
  });

  it('refuses a week before anything was recorded; one without data inside the history is real', async () => {
    const { job, lakeDirectory, registry } = await setUp();
    const slip = () => job.run('2019-W03', AFTER_WEEK_MS);
    await expect(slip()).rejects.toMatchObject({
      code: 'week_without_data',
      message: expect.stringContaining('2019-W03'),
      options: { advice: 'There is no data of any week yet.' },
    });
    putDrive(lakeDirectory, 'KV-101', first);
    await expect(slip()).rejects.toMatchObject({ options: { advice: `The first week with data is ${WEEK}.` } });
    expect(await listRankings(lakeDirectory)).toEqual([]);
    expect(await registry.jobs.finishedWeeks(WEEKLY_JOB)).toEqual([]);
    expect(await registry.jobs.holder(WEEKLY_JOB)).toBeNull();
    const quiet = await job.run('2026-W42', toMs + 8 * 24 * HOUR_MS);
    expect(quiet).toMatchObject({ published: true, ranking: { ranked: [], provisional: false } });
    expect(quiet.ranking.unranked).toHaveLength(2);
  });

  it('publishes nothing when it has lost its turn', async () => {
    let now = AFTER_WEEK_MS;
    const { parts, registry, lakeDirectory } = await setUp(() => now);
    putDrive(lakeDirectory, 'KV-101', first);
    const openLake = async () => {
      now += 120_000;
      await registry.jobs.acquire(WEEKLY_JOB, 'the next one', 60_000);
      return Lake.open(lakeDirectory);
    };
    await expect(new WeeklyJob({ ...parts, openLake }).run(WEEK, now)).rejects.toMatchObject({ code: 'job_running' });
    expect(await registry.jobs.finishedWeeks(WEEKLY_JOB)).toEqual([]);
    expect((await registry.jobs.holder(WEEKLY_JOB))?.owner).toBe('the next one');
  });
});

describe('the schedule', () => {
  const schedule = (job: WeeklyJob, log = pino({ level: 'silent' })) =>
    new RankingSchedule({ job, log, nowMs: () => AFTER_WEEK_MS, timeZone: async () => ZONE }, '0 5 * * 1');

  it('catches up at start, oldest week first', async () => {
    const { job, lakeDirectory, registry } = await setUp();
    putDrive(lakeDirectory, 'KV-101', first);
    putDrive(lakeDirectory, 'KV-101', { ...second, upload: 'u0', startedMs: first.startedMs - 14 * 24 * HOUR_MS });
    const running = schedule(job);
    await running.start();
    await running.catchUp();
    expect(await registry.jobs.finishedWeeks(WEEKLY_JOB)).toEqual(['2026-W39', WEEK]);
    await running.stop();
  });

  it('survives a failing run and tries again at the next time', async () => {
    const { parts, job, lakeDirectory, registry } = await setUp();
    putDrive(lakeDirectory, 'KV-101', first);
    const lines: string[] = [];
    const failing = new WeeklyJob({ ...parts, rules: () => Promise.reject(new Error('no rules today')) });
    await schedule(failing, pino({}, { write: (line: string) => void lines.push(line) })).catchUp();
    expect(lines.join()).toContain('no rules today');
    await schedule(job).catchUp();
    expect(await registry.jobs.finishedWeeks(WEEKLY_JOB)).toEqual([WEEK]);
  });

  it('stands in the first depot’s zone, also when that changes', async () => {
    const { job } = await setUp();
    const lines: { msg: string; timezone: string; next: string }[] = [];
    const log = pino({}, { write: (line: string) => void lines.push(JSON.parse(line)) });
    let zone = 'UTC';
    const running = new RankingSchedule(
      { job, log, nowMs: () => AFTER_WEEK_MS, timeZone: async () => zone },
      '0 5 * * 1',
    );
    await running.start();
    zone = ZONE;
    await running.catchUp();
    await running.catchUp();
    await running.stop();
    const planned = lines.filter((line) => line.msg === 'weekly ranking is scheduled');
    expect(planned.map((line) => line.timezone)).toEqual(['UTC', ZONE]);
    const local = new Intl.DateTimeFormat('en-GB', {
      timeZone: ZONE,
      weekday: 'short',
      hour: '2-digit',
      minute: '2-digit',
    });
    expect(local.format(new Date(planned[1]!.next))).toBe('Mon 05:00');
  });
});
