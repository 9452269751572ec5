import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import type { EventList, PipelineState, Ranking } from '@tallybay/contracts';
import { LAKE_TABLES } from '@tallybay/lake';
import { type LogEntry, type Manifest, writeFleet } from '@tallybay/synthetic-fleet';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { anyBroker } from '../../faults/broker.js';
import { get, Path, postJson } from '../../faults/path.js';
import { kafkaEnvironment } from '../../faults/scenarios.js';
import { ApiProcess } from '../../service/api-process.js';
import { testPostgres } from '../registry/test-postgres.js';

const WEEK = '2026-W36';
const fleet = mkdtempSync(join(tmpdir(), 'tallybay-carriers-fleet-'));
const closing: (() => unknown)[] = [() => rmSync(fleet, { recursive: true })];
afterAll(async () => {
  for (const close of closing.reverse()) await close();
});

interface Result {
  path: Path;
  ranking: Ranking;
  uploads: PipelineState['uploads'];
  events: EventList['events'];
}

/** The fleet's uploads in its senders' order through one set-up, then the week's ranking. */
async function run(environment: Record<string, string>, roles: ('all' | 'receive' | 'decode')[]): Promise<Result> {
  const path = await Path.create(environment);
  closing.push(() => path.close());
  for (const role of roles) await path.add(role);
  const ingest = path.processes[0]!.url;
  const api = await ApiProcess.start(path.home, ingest, environment);
  closing.push(() => api.stop());
  await postJson(`${api.url}/v1/fleet`, JSON.parse(readFileSync(join(fleet, 'fleet.json'), 'utf8')));
  const { files } = JSON.parse(readFileSync(join(fleet, 'manifest.json'), 'utf8')) as Manifest;
  for (const file of files) {
    const send: LogEntry['send'] = file.kind === 'log' ? file.send : {};
    const query = new URLSearchParams(Object.entries(send) as [string, string][]);
    const address = `${api.url}/v1/${file.kind === 'log' ? 'logs' : 'snapshots'}?${query}`;
    const body = readFileSync(join(fleet, file.file));
    const response = await fetch(address, { method: 'POST', body: new Uint8Array(body) });
    expect(response.status, `${file.file}: ${await response.text()}`).toBeLessThan(300);
  }
  const { uploads } = await path.settle();
  const ranking = await postJson<Ranking>(`${api.url}/v1/rankings/${WEEK}`, {});
  await untilAnnounced(api.url);
  const { events } = await get<EventList>(`${api.url}/v1/events?limit=1000`);
  return { path, ranking, uploads, events };
}

async function untilAnnounced(url: string): Promise<void> {
  for (let turn = 0; turn < 50; turn++) {
    const { events } = await get<EventList>(`${url}/v1/events?limit=1000`);
    if (events.some((event) => event.kind === 'ranking_published')) return;
    await sleep(200);
  }
}

/** Every data file of the lake by name, with the hash of its bytes. */
function lakeFiles(lake: string): Record<string, string> {
  const files: Record<string, string> = {};
  for (const table of Object.keys(LAKE_TABLES))
    for (const name of readdirSync(join(lake, table), { recursive: true, encoding: 'utf8' })) {
      const file = join(lake, table, name);
      if (statSync(file).isFile())
        files[join(table, name)] = createHash('sha256').update(readFileSync(file)).digest('hex');
    }
  return files;
}

/** What the ranking says, without when it was made. */
const content = ({ asOf: _asOf, ...ranking }: Ranking & { asOf?: unknown }) => ranking;

describe('the same fleet through the spool with SQLite and through Kafka with PostgreSQL', { timeout: 300_000 }, () => {
  let spool: Result;
  let kafka: Result;
  beforeAll(async () => {
    await writeFleet(
      { seed: 5, vehicles: 6, weeks: 1, start: WEEK, rateHz: 1, scale: 0.15, maxDriveMinutes: 20, maxChannels: 24 },
      fleet,
    );
    spool = await run({}, ['all']);
    const broker = await anyBroker();
    closing.push(() => broker.stop());
    const postgres = await testPostgres();
    closing.push(() => postgres.stop());
    const environment = {
      ...kafkaEnvironment(broker.brokers),
      TALLYBAY_DATABASE_URL: await postgres.createDatabase(),
    };
    kafka = await run(environment, ['receive', 'decode', 'decode']);
  }, 300_000);

  it('gives lakes that are equal to the byte', () => {
    const files = lakeFiles(spool.path.lake);
    console.log(`${Object.keys(files).length} files in each lake, uploads ${JSON.stringify(spool.uploads)}`);
    expect(Object.keys(files).length).toBeGreaterThan(40);
    expect(lakeFiles(kafka.path.lake)).toEqual(files);
    expect(kafka.uploads).toEqual(spool.uploads);
  });

  it('gives the same ranking', () => {
    expect(spool.ranking.ranked.length).toBeGreaterThan(0);
    expect(content(kafka.ranking)).toEqual(content(spool.ranking));
  });

  it('announces each stored upload and the ranking', () => {
    for (const { uploads, events } of [spool, kafka]) {
      const stored = events.filter((event) => event.kind === 'upload_stored');
      expect(new Set(stored.map((event) => event.uploadId)).size).toBe(uploads.stored);
      expect(events.filter((event) => event.kind === 'ranking_published')).toMatchObject([{ week: WEEK, revision: 1 }]);
    }
  });
});
