import { mkdirSync, readdirSync, readFileSync, truncateSync, utimesSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { FakeService } from './fake-service.js';
import { runTallybay, temporaryFolder } from './recorded-terminal.js';

const LOG = 'time,Engine Coolant Temperature [°C]\n2026-10-05T07:00:00Z,80\n2026-10-05T07:00:01Z,81\n';
const SNAPSHOT = '{"vehicle":"KV-101","time":"2026-10-05T07:00:00Z","codes":[]}\n';

let service: FakeService;
let folder: string;
let env: Record<string, string>;

const write = (name: string, content: string | Uint8Array): string => {
  const path = join(folder, name);
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, content);
  return path;
};
const upload = (...args: string[]) => runTallybay(['upload', ...args, '--url', service.url], { cwd: folder, env });

beforeEach(async () => {
  service = await FakeService.start();
  onTestFinished(() => service.stop());
  folder = temporaryFolder();
  env = { TALLYBAY_STATE_DIR: join(folder, '.state') };
});

describe('tallybay upload', () => {
  it('sends a log byte for byte with what the sender says about it', async () => {
    write('card/0712.csv', LOG);
    const ran = await upload('card/0712.csv', '--vehicle', 'KV-101', '--time-zone', 'Europe/Berlin');
    expect(ran).toMatchObject({ exitCode: 0, notes: [] });
    const [post] = service.posts('/v1/logs');
    expect(post?.body.toString()).toBe(LOG);
    expect(post?.query).toEqual({ vehicle: 'KV-101', timeZone: 'Europe/Berlin', fileName: '0712.csv' });
    expect(ran.out[0]).toMatch(/^sent {4} {2}card\/0712\.csv {2}86 B {2}KV-101 {2}u-/);
    expect(ran.out.at(-1)).toBe('1 file: 1 sent');
  });

  it('sends .gz packed, under the hash and name of what is in it', async () => {
    write('a.csv.gz', gzipSync(LOG));
    write('b.bin', gzipSync(`${LOG}x`));
    expect((await upload('.', '--vehicle', 'KV-101')).exitCode).toBe(0);
    const names = service.posts('/v1/logs').map((post) => post.query.fileName);
    expect(names.sort()).toEqual(['a.csv', 'b.bin']);
    const [post] = service.posts('/v1/logs').filter((one) => one.body.toString() === LOG);
    expect(post?.sentBytes).toBe(gzipSync(LOG).length);
    const again = write('unpacked.csv', LOG);
    expect((await upload(again, '--vehicle', 'KV-101')).out[0]).toMatch(/^there/);
  });

  it('says that bytes which are there stay with their vehicle, whatever is named now', async () => {
    write('a.csv', LOG);
    await upload('a.csv', '--vehicle', 'KV-101');
    const again = await upload('a.csv', '--vehicle', 'KV-102');
    expect(again.exitCode).toBe(0);
    expect(again.out[1]).toMatch(/It stays with KV-101; .*`tallybay decode-again u-\S+ --vehicle KV-102`/);
    expect((await upload('a.csv', '--vehicle', 'KV-101')).out).toHaveLength(2);
  });

  it('takes folders and patterns, each file once, hidden ones left out', async () => {
    for (const name of ['a/1.csv', 'a/b/2.csv', 'a/.hidden.csv']) write(name, LOG + name);
    const ran = await upload('a', 'a/*.csv', 'a/**/*.csv', '--vehicle', 'KV-101');
    // Files go in parallel, so the service may see them in either order.
    const names = service.posts('/v1/logs').map((post) => post.query.fileName);
    expect(names.sort()).toEqual(['1.csv', '2.csv']);
    expect(ran.out.at(-1)).toBe('2 files: 2 sent');
  });

  it('recognises snapshots by content: one object, a list, one a line', async () => {
    write('s/one.dat', `\uFEFF${SNAPSHOT}`);
    write(
      's/list.json',
      `[${SNAPSHOT}, {"time":"2026-10-06T07:00:00Z","raw":{"transport":"can","responses":["4300"]}}]`,
    );
    write('s/lines.json', `${SNAPSHOT.replace('101', '102')}${SNAPSHOT.replace('101', '103')}`);
    write('s/truth.json', '{"vehicles":[]}');
    const ran = await upload('s', '--vehicle', 'KV-9');
    expect(service.posts('/v1/logs')).toEqual([]);
    // The one that stands in two files is sent once: the service has its bytes by then.
    const sent = service.posts('/v1/snapshots').map((post) => JSON.parse(post.body.toString()));
    expect(sent.map((body) => body.vehicle).sort()).toEqual(['KV-101', 'KV-102', 'KV-103', 'KV-9']);
    expect(ran.exitCode).toBe(0);
    expect(ran.out.join('\n')).toMatch(/^skipped {3}s\/truth\.json/m);
  });

  it('says that a file named by hand is no snapshot, and sends nothing', async () => {
    write('truth.json', '{"vehicles":[]}');
    const ran = await upload('truth.json');
    expect(ran.exitCode).toBe(65);
    expect(ran.out[0]).toMatch(/^refused/);
    expect(service.received.filter((one) => one.method === 'POST')).toEqual([]);
  });

  it('sends with --snapshots what does not look like one, and prints the service’s words', async () => {
    write('x.json', '{"vehicles":[]}');
    expect((await upload('x.json', '--snapshots')).exitCode).toBe(65);
  });

  it('does not send again what the service has, touched or not', async () => {
    const path = write('a.csv', LOG);
    await upload('a.csv', '--vehicle', 'KV-101');
    // Touched, so the journal does not know this state: the bytes are hashed and asked for.
    utimesSync(path, 1_790_000_000, 1_790_000_000);
    await upload('a.csv', '--vehicle', 'KV-101');
    const again = await upload('a.csv', '--vehicle', 'KV-101');
    expect(again.out[0]).toMatch(/^there/);
    expect(again.exitCode).toBe(0);
    expect(service.posts('/v1/logs')).toHaveLength(1);
  });

  it('sends again what the service has lost', async () => {
    write('a.csv', LOG);
    await upload('a.csv', '--vehicle', 'KV-101');
    service.uploads.clear();
    expect((await upload('a.csv', '--vehicle', 'KV-101')).out[0]).toMatch(/^sent/);
    expect(service.posts('/v1/logs')).toHaveLength(2);
  });

  it('goes on after its journal was cut in mid-line', async () => {
    write('a.csv', LOG);
    write('b.csv', `${LOG}b`);
    await upload('a.csv', 'b.csv', '--vehicle', 'KV-101', '--parallel', '1');
    const [name] = readdirSync(join(folder, '.state'));
    const file = join(folder, '.state', name!);
    truncateSync(file, readFileSync(file).length - 20);
    const ran = await upload('a.csv', 'b.csv', '--vehicle', 'KV-101');
    expect(ran.out.at(-1)).toBe('2 files: 2 already there');
    const lines = readFileSync(file, 'utf8').trimEnd().split('\n');
    expect(lines.map((line) => isJson(line))).toEqual([true, false, true]);
    expect(service.posts('/v1/logs')).toHaveLength(2);
  });

  it('tries again when the service is busy or the connection breaks', async () => {
    write('a.csv', LOG);
    service.planned.push(
      {
        path: '/v1/logs',
        answer: { status: 503, body: problem('landing_unwritable'), headers: { 'retry-after': '0' } },
      },
      { path: '/v1/logs', answer: { status: 0, cut: true } },
    );
    const ran = await upload('a.csv', '--vehicle', 'KV-101', '--retries', '3');
    expect(ran.exitCode).toBe(0);
    expect(ran.notes).toHaveLength(2);
    expect(ran.notes[0]).toContain('trying again in 0 s');
    expect(service.posts('/v1/logs')[0]?.body.toString()).toBe(LOG);
  });

  it('does not try again what the service refuses, and tells why and what to do', async () => {
    write('a.csv', LOG);
    write('b.csv', `${LOG}b`);
    service.planned.push({
      path: '/v1/logs',
      answer: { status: 422, body: problem('log_no_time', { row: 3, column: 'Zeit' }) },
    });
    const ran = await upload('a.csv', 'b.csv', '--vehicle', 'KV-101', '--parallel', '1');
    expect(ran.exitCode).toBe(65);
    expect(ran.out.slice(0, 2).join('\n')).toBe(
      'refused   a.csv  86 B\n' +
        '          The log has no column that can be read as time: what happened. (row 3, column "Zeit") Do this.',
    );
    expect(ran.out.at(-1)).toBe('2 files: 1 sent, 1 refused');
  });

  it('keeps what the service said when it answers before the body is through', async () => {
    write('big.csv', Buffer.alloc(8_000_000, LOG));
    service.planned.push({ path: '/v1/logs', answer: { status: 415, body: problem('body_not_text') } });
    const ran = await upload('big.csv', '--vehicle', 'KV-101', '--retries', '0');
    expect(ran.out.join('\n')).toContain('The upload is not a text log');
    expect(ran.exitCode).toBe(65);
  });

  it('gives up after the given tries, and does not try the rest one by one', async () => {
    for (const name of ['a', 'b', 'c']) write(`${name}.csv`, LOG + name);
    await service.stop();
    const ran = await upload('.', '--retries', '0', '--parallel', '1');
    expect(ran.exitCode).toBe(69);
    expect(ran.out.filter((line) => line.startsWith('failed'))).toHaveLength(1);
    expect(ran.out.at(-1)).toBe('3 files: 3 not delivered');
    expect(ran.notes.at(-1)).toContain('2 files not tried');
  });

  it('says what waits and how to let it go on', async () => {
    write('a.csv', LOG);
    const ran = await upload('a.csv');
    expect(ran.exitCode).toBe(0);
    expect(ran.out[0]).toMatch(/^waits {5}a\.csv/);
    expect(ran.out[1]).toContain('does not say which vehicle');
    expect(ran.out.at(-1)).toContain('tallybay release');
  });

  it('exits with the highest code of all files', async () => {
    write('good.csv', LOG);
    write('empty.csv', '');
    write('cut.csv.gz', gzipSync(LOG).subarray(0, 30));
    const ran = await upload('.', '--vehicle', 'KV-101');
    expect(ran.exitCode).toBe(65);
    expect(ran.out.at(-1)).toBe('3 files: 1 sent, 2 refused');
    expect(ran.out.join('\n')).toContain('cut or damaged');
  });

  it.each([
    [['nowhere'], 66, 'nowhere'],
    [['a.csv', '--time-zone', 'Mars/Olympus'], 64, 'Mars/Olympus'],
    [['a.csv', '--recorded-at', 'yesterday'], 64, 'yesterday'],
    [['a.csv', '--parallel', '0'], 64, '"0"'],
    [['a.csv', '--frobnicate'], 64, '--frobnicate'],
    [[], 64, 'path'],
  ] as const)('refuses %j with code %i and names the value', async (args, exitCode, named) => {
    write('a.csv', LOG);
    const ran = await upload(...args);
    expect(ran.exitCode).toBe(exitCode);
    expect(ran.notes.join('\n')).toContain(named);
    expect(service.received).toEqual([]);
  });

  it('refuses an address that is none', async () => {
    write('a.csv', LOG);
    const ran = await runTallybay(['upload', 'a.csv', '--url', 'nonsense'], { cwd: folder, env });
    expect(ran).toMatchObject({ exitCode: 64 });
  });
});

const isJson = (line: string): boolean => {
  try {
    return Boolean(JSON.parse(line));
  } catch {
    return false;
  }
};

function problem(code: string, extra: object = {}) {
  const titles: Record<string, string> = {
    log_no_time: 'The log has no column that can be read as time',
    body_not_text: 'The upload is not a text log',
  };
  return {
    type: `urn:x:${code}`,
    title: titles[code] ?? code,
    status: 400,
    detail: 'what happened',
    code,
    advice: 'Do this.',
    ...extra,
  };
}
