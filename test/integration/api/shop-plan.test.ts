import { mkdtemp, rename, rm, writeFile } from 'node:fs/promises';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  type Inspection,
  type PlaceCheck,
  type PlanRun,
  type ProblemDocument,
  type ShopPlanView,
  type StreamEvent,
  TOPICS,
  type Visit,
} from '@tallybay/contracts';
import { openStream, streamConfigSchema } from '@tallybay/stream';
import ical from 'node-ical';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ApiProcess } from '../../service/api-process.js';
import { dayAhead as day, FLEET, SHOP } from '../../service/small-shop.js';

let home: string;
let api: ApiProcess;
let hook: Server;
const called: { kind: string; visits: { visit: string; state: string }[] }[] = [];

async function call<T>(method: string, path: string, body?: unknown, headers: Record<string, string> = {}) {
  const sent = body === undefined ? {} : { body: JSON.stringify(body) };
  const type: Record<string, string> = body === undefined ? {} : { 'content-type': 'application/json' };
  const answer = await fetch(`${api.url}${path}`, { method, headers: { ...type, ...headers }, ...sent });
  const text = await answer.text();
  const json = answer.headers.get('content-type')?.includes('json') ? JSON.parse(text) : text;
  return { status: answer.status, body: json as T, etag: answer.headers.get('etag') };
}

const board = async () => (await call<ShopPlanView>('GET', '/v1/plan')).body;
const parsed = async (path: string) =>
  Object.values(ical.sync.parseICS((await call<string>('GET', path)).body)).filter((item) => item?.type === 'VEVENT');

async function planned(): Promise<PlanRun> {
  expect((await call('POST', '/v1/plan', { seconds: 10 }, { 'x-tallybay-editor': 'ada' })).status).toBe(202);
  for (;;) {
    const { body } = await call<PlanRun>('GET', '/v1/plan/run');
    if (body.state !== 'running') return body;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

beforeAll(async () => {
  hook = createServer((request, response) => {
    let text = '';
    request.on('data', (part) => {
      text += part;
    });
    request.on('end', () => {
      called.push(JSON.parse(text));
      response.end();
    });
  });
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve));
  home = await mkdtemp(join(tmpdir(), 'tallybay-plan-'));
  api = await ApiProcess.start(home, 'http://127.0.0.1:9');
  expect((await call('POST', '/v1/fleet', FLEET)).status).toBeLessThan(300);
}, 60_000);

afterAll(async () => {
  await api?.stop();
  hook?.close();
  await rm(home, { recursive: true, force: true });
});

describe('the shop plan over HTTP', () => {
  it('says what is missing before there is a shop', async () => {
    const run = await planned();
    expect(run).toMatchObject({ state: 'failed', problem: { code: 'shop_missing' } });
  });

  it('refuses a shop that is none, naming the field', async () => {
    const odd = { ...SHOP, hours: [{ depot: 'north', weekday: 1, from: '8', to: '17:00' }] };
    const { status, body } = await call<ProblemDocument>('PUT', '/v1/settings/shop', odd);
    expect(status).toBe(422);
    expect(body.field).toBe('hours.0.from');
  });

  it('plans what is due within capacity, with a proven cost, and tells the webhook', async () => {
    const { port } = hook.address() as AddressInfo;
    expect((await call('PUT', '/v1/settings/shop', SHOP)).status).toBe(200);
    expect(
      (await call('PUT', '/v1/settings/notices', { webhook: `http://127.0.0.1:${port}/`, held: ['mail'] })).status,
    ).toBe(200);
    const run = await planned();
    expect(run).toMatchObject({ state: 'done', report: { optimal: true, gap: 0, planned: 4, waiting: [] } });
    const { visits, bays } = await board();
    expect(visits.map(({ vehicle }) => vehicle).sort()).toEqual(['KV-1', 'KV-2', 'KV-3', 'KV-4']);
    expect(bays[0]!.days.find((item) => item.day === day(2))).toMatchObject({
      from: null,
      closed: expect.stringContaining('Well Day'),
    });
    // Never two vans on one day, nothing on the holiday, every bay within its hour and a half.
    const vans = visits.filter(({ vehicleClass }) => vehicleClass === 'van').map((visit) => visit.day);
    expect(new Set(vans).size).toBe(2);
    expect(visits.every((visit) => visit.day !== day(2))).toBe(true);
    expect(bays.flatMap((bay) => bay.days).every(({ usedMinutes }) => usedMinutes <= 90)).toBe(true);
    await expect.poll(() => called.flatMap((item) => item.visits).length, { timeout: 20_000 }).toBe(4);
  });

  it('explains what comes late', async () => {
    const { report } = await board();
    // KV-4 was due tomorrow and its class of work cannot be done before tomorrow: it is in time, or says what was in the way.
    for (const late of report!.late) expect(late.why.length).toBeGreaterThan(0);
  });

  it('says for each place whether a visit fits, moves it there and pins it; a taken place is refused with the limit', async () => {
    const visit = (await board()).visits.find(({ vehicle }) => vehicle === 'KV-1')!;
    const { places } = (await call<{ places: PlaceCheck[] }>('GET', `/v1/plan/visits/${visit.id}/places`)).body;
    expect(places.find((item) => item.bay === 'north-1' && item.day === day(2))).toMatchObject({
      fits: false,
      limits: [{ limit: 'holiday' }],
    });
    expect(places.find((item) => item.bay === 'south-1' && item.day === day(5))).toMatchObject({
      limits: [{ limit: 'no_travel' }],
    });
    const taken = await call<ProblemDocument>('POST', `/v1/plan/visits/${visit.id}/move`, {
      bay: 'north-1',
      day: day(2),
    });
    expect(taken).toMatchObject({
      status: 409,
      body: { code: 'place_taken', detail: expect.stringContaining('Well Day') },
    });
    const moved = await call<Visit>(
      'POST',
      `/v1/plan/visits/${visit.id}/move`,
      { bay: 'north-1', day: day(6) },
      { 'if-match': `"${visit.version}"` },
    );
    expect(moved).toMatchObject({ status: 200, body: { day: day(6), pinned: true, from: '08:00' } });
    expect(moved.etag).toBe(`"${visit.version + 1}"`);
    // The other planner still has the old version.
    const late = await call<ProblemDocument>(
      'POST',
      `/v1/plan/visits/${visit.id}/pin`,
      { pinned: false },
      { 'if-match': `"${visit.version}"` },
    );
    expect(late).toMatchObject({
      status: 409,
      body: { code: 'edit_conflict', detail: expect.stringContaining('meanwhile') },
    });
  });

  it('keeps pins and booked visits when planning again', async () => {
    expect((await call('POST', '/v1/plan/book')).status).toBe(200);
    const before = (await board()).visits.map(({ id, bay, day: at }) => [id, bay, at]);
    const run = await planned();
    expect(run.report?.moved).toEqual([]);
    expect((await board()).visits.map(({ id, bay, day: at }) => [id, bay, at])).toEqual(before);
  });

  it('moves a booked visit when its bay closes, and says why', async () => {
    const visit = (await board()).visits.find(({ vehicle }) => vehicle === 'KV-4')!;
    const there = (await board()).visits
      .filter(({ bay, day: at }) => bay === visit.bay && at === visit.day)
      .map(({ vehicle }) => vehicle)
      .sort();
    const closed = SHOP.bays.map((bay) =>
      bay.id === visit.bay ? { ...bay, closed: [{ from: visit.day, to: visit.day }] } : bay,
    );
    await call('PUT', '/v1/settings/shop', { ...SHOP, bays: closed });
    const { report } = await planned();
    expect(report?.moved.map(({ vehicle }) => vehicle).sort()).toEqual(there);
    for (const { why } of report!.moved) expect(why).toContain('closed');
    await call('PUT', '/v1/settings/shop', SHOP);
  });

  it('takes a visit through its states into the history of the vehicle', async () => {
    const { visits } = (await call<{ visits: Visit[] }>('GET', '/v1/plan/visits?vehicle=KV-3')).body;
    const path = `/v1/plan/visits/${visits[0]!.id}`;
    expect((await call<Visit>('POST', `${path}/start`)).body.state).toBe('in_the_bay');
    const done = { findings: 'cap was loose', parts: [{ name: 'cap', count: 1 }] };
    expect((await call<Visit>('POST', `${path}/done`, done)).body).toMatchObject({
      state: 'done',
      findings: 'cap was loose',
    });
    expect(await call('POST', `${path}/start`)).toMatchObject({ status: 409, body: { code: 'visit_state' } });
    const { inspections } = (await call<{ inspections: Inspection[] }>('GET', '/v1/inspections?vehicle=KV-3')).body;
    expect(inspections).toMatchObject([{ kind: 'emissions-inspection', state: 'done', visit: visits[0]!.id }]);
  });

  it('serves feeds that a calendar library reads, with stable ids and cancellations', async () => {
    const before = await parsed('/v1/plan/depots/north/calendar.ics');
    expect(before).toHaveLength(2);
    const visit = (await board()).visits.find(({ vehicle }) => vehicle === 'KV-1')!;
    await call('POST', `/v1/plan/visits/${visit.id}/decline`, { reason: 'sold last week' });
    const after = await parsed('/v1/plan/bays/north-1/calendar.ics');
    const mine = after.find((item) => item.uid === `${visit.id}@tallybay`)!;
    expect(mine).toMatchObject({ status: 'CANCELLED', summary: expect.stringContaining('KV-1') });
    const old = before.find((item) => item.uid === mine.uid)!;
    expect(Number(mine.sequence)).toBeGreaterThan(Number(old.sequence ?? 0));
    expect((await board()).visits.map(({ vehicle }) => vehicle)).not.toContain('KV-1');
  });

  it('gives the plan as CSV and each bay’s day to print', async () => {
    const csv = (await call<string>('GET', '/v1/plan/visits.csv')).body;
    expect(csv.split('\r\n')[0]).toContain('day,from,to');
    const { visits } = await board();
    const [visit] = visits;
    const sheet = await call<string>('GET', `/v1/plan/bays/${visit!.bay}/day-sheet?day=${visit!.day}`);
    expect(sheet.body).toContain(`: ${visit!.vehicle} `);
    expect((await call('GET', '/v1/plan/bays/none/day-sheet?day=2026-01-01')).status).toBe(404);
  });

  it('tells the events topic of a change after the process was killed before it could', async () => {
    const spool = join(home, 'spool');
    await api.stop();
    await rename(spool, `${spool}.away`);
    // A file where the stream's folder belongs: nothing can be told.
    await writeFile(spool, '');
    api = await ApiProcess.start(home, 'http://127.0.0.1:9');
    const visit = (await board()).visits[0]!;
    const pinned = await call<Visit>('POST', `/v1/plan/visits/${visit.id}/pin`, { pinned: !visit.pinned });
    expect(pinned.status).toBe(200);
    process.kill(api.pid, 'SIGKILL');
    await api.stop();
    await rm(spool);
    await rename(`${spool}.away`, spool);
    api = await ApiProcess.start(home, 'http://127.0.0.1:9');
    const stream = await openStream(streamConfigSchema.parse({ kind: 'spool', directory: spool }), {});
    const told = async () =>
      (await stream.browse(TOPICS.events, 500))
        .map(({ value }) => JSON.parse(Buffer.from(value).toString()) as StreamEvent)
        .filter((event) => event.kind === 'visit_changed' && event.visit === visit.id)
        .map((event) => event.kind === 'visit_changed' && event.version);
    // The versions before it were told in order, none is missing.
    await expect.poll(told, { timeout: 20_000 }).toEqual(Array.from({ length: visit.version + 1 }, (_, at) => at + 1));
    await stream.close();
  });
});
