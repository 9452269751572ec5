import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { RankedVehicle, Ranking } from '@tallybay/contracts';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { FakeService, uploadOf } from './fake-service.js';
import { runTallybay, temporaryFolder } from './recorded-terminal.js';

let service: FakeService;
const tallybay = (...args: string[]) => runTallybay([...args, '--url', service.url]);
const upload = (name: string, vehicle?: string) =>
  uploadOf(
    { path: '/v1/logs', query: { fileName: name, ...(vehicle && { vehicle }) }, body: Buffer.from(name) },
    name.padEnd(8, '0'),
  );

beforeEach(async () => {
  service = await FakeService.start();
  onTestFinished(() => service.stop());
});

describe('tallybay uploads', () => {
  it('lists page after page, and what each upload waits for', async () => {
    const all = [upload('a.csv', 'KV-101'), upload('b.csv')];
    service.routes.set('GET /v1/uploads', ({ query }) => ({
      status: 200,
      body: query.after ? { uploads: [all[1]], next: null } : { uploads: [all[0]], next: 'x' },
    }));
    const ran = await tallybay('uploads', '--waiting');
    expect(service.received.map((one) => one.query)).toEqual([
      { state: 'waiting', limit: '100' },
      { state: 'waiting', limit: '99', after: 'x' },
    ]);
    expect(ran.out[0]).toMatch(/^upload +state +received +vehicle/);
    expect(ran.out.join('\n')).toMatch(/u-b\.csv000 +waiting +2026-10-05T12:00:00Z +- /);
    expect(ran.out.join('\n')).toContain('u-b.csv000: The upload does not say which vehicle it is from');
    expect(ran.exitCode).toBe(0);
  });

  it('says so when there are none', async () => {
    service.routes.set('GET /v1/uploads', () => ({ status: 200, body: { uploads: [], next: null } }));
    expect((await tallybay('uploads', '--waiting')).out).toEqual(['No uploads are waiting.']);
  });

  it('prints an answer of another shape as what it is', async () => {
    service.routes.set('GET /v1/uploads', () => ({ status: 200, body: [] }));
    const ran = await tallybay('uploads');
    expect(ran.exitCode).toBe(70);
    expect(ran.notes.join('\n')).toContain('different versions');
  });

  it('explains an address that is no service of ours', async () => {
    service.routes.set('GET /v1/uploads', () => ({ status: 404, body: '<html>nothing</html>' }));
    const ran = await tallybay('uploads');
    expect(ran.exitCode).toBe(64);
    expect(ran.notes.join('\n')).toContain('--url');
  });
});

describe('tallybay release', () => {
  it('sends what is given and prints the new state', async () => {
    service.routes.set('POST /v1/uploads/u-1/release', () => ({ status: 200, body: upload('a.csv', 'KV-101') }));
    const ran = await tallybay('release', 'u-1', '--vehicle', 'KV-101', '--recorded-at', '2026-10-05T07:12:00+02:00');
    expect(JSON.parse(service.received[0]!.body.toString())).toEqual({
      vehicle: 'KV-101',
      recordedAt: '2026-10-05T07:12:00+02:00',
    });
    expect(ran.out[0]).toContain('queued  KV-101  a.csv');
  });

  it('needs something to say', async () => {
    expect(await tallybay('release', 'u-1')).toMatchObject({ exitCode: 64 });
    expect(service.received).toEqual([]);
  });

  it('passes on the refusal', async () => {
    const body = {
      type: 'x',
      title: 'The upload is not waiting',
      status: 409,
      detail: 'u-1 is stored',
      code: 'upload_not_waiting',
    };
    service.routes.set('POST /v1/uploads/u-1/release', () => ({ status: 409, body }));
    const ran = await tallybay('release', 'u-1', '--vehicle', 'KV-101');
    expect(ran.exitCode).toBe(65);
    expect(ran.notes).toEqual(['tallybay: The upload is not waiting: u-1 is stored.']);
  });
});

describe('tallybay decode-again and dead-letters', () => {
  it('asks for each upload in turn, and stops at the first refusal', async () => {
    service.routes.set('POST /v1/uploads/u-1/decode-again', () => ({ status: 202, body: upload('a.csv', 'KV-101') }));
    const ran = await tallybay('decode-again', 'u-1', 'u-2', '--vehicle', 'KV-101');
    expect(ran.out).toEqual(['u-a.csv000  queued  KV-101  a.csv']);
    expect(JSON.parse(service.received[0]!.body.toString())).toEqual({ vehicle: 'KV-101' });
    expect(ran.exitCode).toBe(64);
  });

  it('lists what was set aside and why', async () => {
    const reason = {
      type: 'x',
      title: 'A chunk could not be decoded',
      status: 500,
      detail: 'chunk 3',
      code: 'chunk_undecodable',
    };
    const letter = {
      id: 'tallybay.logs.v1/2/17',
      at: '2026-10-05T12:00:00.000Z',
      key: 'KV-101',
      bytes: 1200,
      reason,
      uploadId: 'u-1',
      uploadState: 'failed',
    };
    service.routes.set('GET /v1/dead-letters', () => ({ status: 200, body: { deadLetters: [letter] } }));
    const ran = await tallybay('dead-letters');
    expect(ran.out.join('\n')).toMatch(/tallybay.logs.v1\/2\/17 .+KV-101 +u-1 +failed +1\.2 kB/);
    expect(ran.out).toContain('tallybay.logs.v1/2/17: A chunk could not be decoded: chunk 3.');
    service.routes.set('GET /v1/dead-letters', () => ({ status: 200, body: { deadLetters: [] } }));
    expect((await tallybay('dead-letters')).out).toEqual(['Nothing was set aside.']);
  });
});

describe('tallybay decode-again for many, replay, lag and check-lake', () => {
  it('chooses uploads by vehicle, week and state, and refuses to guess', async () => {
    service.routes.set('POST /v1/decode-again', () => ({ status: 202, body: { uploads: ['a', 'b'], refused: [] } }));
    const ran = await tallybay('decode-again', '--of', 'KV-101', '--week', '2026-W41');
    expect(ran.out.join()).toContain('2 uploads will be decoded again');
    expect(JSON.parse(service.received[0]!.body.toString())).toEqual({ vehicle: 'KV-101', week: '2026-W41' });
    expect((await tallybay('decode-again')).exitCode).toBe(64);
    expect((await tallybay('decode-again', 'u-1', '--of', 'KV-101')).exitCode).toBe(64);
  });

  it('replays all or the named messages, and says what could not be', async () => {
    const problem = { type: 'x', title: 'Damaged', status: 500, detail: 'frame 3', code: 'landing_corrupt' };
    const body = { uploads: ['u-1'], messages: [], refused: [{ id: 'tallybay.logs.v1/0/9', problem }] };
    service.routes.set('POST /v1/dead-letters/replay', () => ({ status: 202, body }));
    const ran = await tallybay('replay', 'tallybay.logs.v1/0/8');
    expect(JSON.parse(service.received[0]!.body.toString())).toEqual({ ids: ['tallybay.logs.v1/0/8'] });
    expect(ran.out).toEqual([
      'u-1  decoded again',
      'tallybay.logs.v1/0/9  Damaged: frame 3.',
      '1 message on the way again, 1 refused',
    ]);
    expect(ran.exitCode).toBe(65);
    await tallybay('replay');
    expect(JSON.parse(service.received[1]!.body.toString())).toEqual({});
  });

  it('shows how far decoding is behind, by partition', async () => {
    const partitions = [
      { topic: 'tallybay.logs.v1', partition: 0, committed: '90071992547409930', end: '90071992547409937' },
      { topic: 'tallybay.logs.v1', partition: 1, committed: '4', end: '4' },
    ];
    service.routes.set('GET /v1/pipeline', () => ({
      status: 200,
      body: { uploads: { stored: 3 }, lag: 7, partitions },
    }));
    const { out } = await tallybay('lag');
    expect(out.slice(0, 2)).toEqual(['Uploads: 3 stored.', '7 messages on the stream to be finished:']);
    // Offsets beyond what a number holds stay exact.
    expect(out.at(-1)).toMatch(/tallybay.logs.v1 +0 +90071992547409930 +90071992547409937 +7/);
    expect(out.join()).not.toContain('logs.v1          1');
  });

  it('ends with an error code when the lake has damaged files, or misses uploads', async () => {
    const damaged = [{ file: 'samples/KV-101/u-0000.parquet', uploadId: 'u', why: 'it ends early' }];
    service.routes.set('POST /v1/lake-check', () => ({ status: 200, body: { files: 12, damaged, missing: [] } }));
    const ran = await tallybay('check-lake');
    expect(ran.out).toEqual([
      'samples/KV-101/u-0000.parquet: it ends early (upload u)',
      '12 files looked at, 1 damaged; 0 uploads missing',
    ]);
    expect(ran.exitCode).toBe(65);
    const missing = [{ uploadId: 'u', vehicle: 'KV-101' }];
    service.routes.set('POST /v1/lake-check', () => ({ status: 200, body: { files: 12, damaged: [], missing } }));
    const again = await tallybay('check-lake');
    expect(again.out).toEqual([
      'u: KV-101 has no rows of it in the lake',
      '12 files looked at, 0 damaged; 1 upload missing',
    ]);
    expect(again.exitCode).toBe(65);
  });
});

describe('tallybay fleet import', () => {
  const fleet = {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North', timeZone: 'America/Denver' }],
    vehicles: [{ id: 'KV-101', vehicleClass: 'pickup', depot: 'north' }],
  };
  const write = (content: string) => {
    const folder = temporaryFolder();
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, 'fleet.json'), content);
    return join(folder, 'fleet.json');
  };

  it('registers what the file lists', async () => {
    service.routes.set('POST /v1/fleet', () => ({ status: 200 }));
    const ran = await tallybay('fleet', 'import', write(JSON.stringify(fleet)));
    expect(ran.out).toEqual([
      'Kestrel Valley Water District: 1 depot, 1 vehicle, 0 recorder assignments, 0 profiles registered',
    ]);
    expect(JSON.parse(service.received[0]!.body.toString())).toMatchObject(fleet);
  });

  it('names the member that is wrong, before anything is sent', async () => {
    const ran = await tallybay('fleet', 'import', write(JSON.stringify({ ...fleet, vehicles: [{ id: '' }] })));
    expect(ran.exitCode).toBe(65);
    expect(ran.notes.join('\n')).toContain('field vehicles.0.id');
    expect(await tallybay('fleet', 'import', write('{'))).toMatchObject({ exitCode: 65 });
    expect(await tallybay('fleet', 'import', '/nowhere/fleet.json')).toMatchObject({ exitCode: 66 });
    expect(service.received).toEqual([]);
  });
});

const ranked = (vehicle: string, rank: number, over: Partial<RankedVehicle> = {}): RankedVehicle => ({
  rank,
  vehicle,
  vehicleClass: 'pickup',
  depot: 'north',
  score: 0.8 / rank,
  heat: { score: 0.7, state: 'ok', note: null },
  codes: { score: null, state: 'stale', note: 'The last snapshot is 40 days old' },
  readiness: { score: null, state: 'no_data', note: null },
  coverage: { share: 1 / 3, engineHours: 6.2, distanceKm: 120, drives: 9, snapshots: 0 },
  change: { rank: null, score: null },
  reasons: [
    { component: 'heat', text: 'Coolant at or above 110 °C for 14 min in 6.2 engine hours', weight: 1, evidence: [] },
  ],
  inputs: {},
  ...over,
});

const ranking: Ranking = {
  week: '2026-W41',
  timeZone: 'America/Denver',
  from: '2026-10-05T00:00:00-06:00',
  to: '2026-10-12T00:00:00-06:00',
  revision: 2,
  provisional: false,
  ruleVersion: '2026-11',
  ranked: [ranked('KV-104', 1), ranked('KV-107', 2, { change: { rank: 3, score: 0.125 } })],
  unranked: [
    {
      vehicle: 'KV-120',
      vehicleClass: 'van',
      depot: 'north',
      causes: [{ code: 'no_upload', text: 'no upload in this week' }],
    },
  ],
  changes: ['KV-107 is now ranked, at 2 with 0.400.'],
  caution: 'A low rank is no permission to drive.',
};

describe('tallybay rank', () => {
  it('prints the published week: table, reasons, who is not ranked, what changed', async () => {
    service.routes.set('GET /v1/rankings/2026-W41', () => ({ status: 200, body: ranking }));
    const ran = await tallybay('rank', '--week', '2026-W41');
    const text = ran.out.join('\n');
    expect(ran.out[0]).toBe('Week 2026-W41, 2026-10-05 to 2026-10-11, America/Denver; revision 2, rules 2026-11');
    expect(text).toMatch(/^ +1 +new +KV-104 +pickup +north +0\.80 +0\.70 +too old +no data +6\.2 +33 %$/m);
    expect(text).toMatch(/^ +2 +5 +KV-107 .* \+0\.13 /m);
    expect(text).toContain('- Coolant at or above 110 °C for 14 min in 6.2 engine hours');
    expect(text).toContain('- The last snapshot is 40 days old');
    expect(text).toContain('KV-120: no upload in this week');
    expect(text).toContain('KV-107 is now ranked');
    expect(ran.out.at(-1)).toBe(ranking.caution);
  });

  it('calls depots by their names where the service tells them; JSON keeps the ids', async () => {
    service.routes.set('GET /v1/rankings/2026-W41', () => ({ status: 200, body: ranking }));
    const depots = [{ id: 'north', name: 'North yard', timeZone: 'America/Denver', version: 1 }];
    service.routes.set('GET /v1/depots', () => ({ status: 200, body: { depots } }));
    const text = (await tallybay('rank', '--week', '2026-W41')).out.join('\n');
    expect(text).toMatch(/^ +1 +new +KV-104 +pickup +North yard +0\.80 /m);
    expect((await tallybay('rank', '--week', '2026-W41', '--json')).out.join('\n')).toContain('"depot": "north"');
  });

  it('ranks a week that has no ranking yet, and any week again when asked', async () => {
    service.routes.set('POST /v1/rankings/2026-W40', () => ({ status: 200, body: { ...ranking, week: '2026-W40' } }));
    expect((await tallybay('rank', '--week', '2026-W40', '--json')).out.join('\n')).toContain('"week": "2026-W40"');
    await tallybay('rank', '--week', '2026-W40', '--again', '--json');
    expect(service.received.map((one) => `${one.method} ${one.path}`)).toEqual([
      'GET /v1/rankings/2026-W40',
      'POST /v1/rankings/2026-W40',
      'POST /v1/rankings/2026-W40',
    ]);
  });

  it('shortens the table and the reasons when asked', async () => {
    service.routes.set('GET /v1/rankings/latest', () => ({ status: 200, body: ranking }));
    const text = (await tallybay('rank', '--top', '1', '--reasons', '0')).out.join('\n');
    expect(text).not.toContain('Coolant at or above');
    expect(text).not.toMatch(/^ +2 +5/m);
    expect(text).toContain('and 1 more');
  });
});
