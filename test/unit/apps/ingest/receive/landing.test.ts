import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, truncateSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { LandingStore } from '../../../../../apps/ingest/src/receive/landing.js';

let directory: string;
let store: LandingStore;
beforeEach(async () => {
  directory = mkdtempSync(join(tmpdir(), 'tallybay-landing-'));
  store = new LandingStore(directory);
  await store.prepare();
});
afterEach(() => rmSync(directory, { recursive: true }));

const chunks = Array.from({ length: 20 }, (_, i) => Buffer.from(`row ${i} `.repeat(500 + i * 37)));
const content = Buffer.concat(chunks);

async function land(): Promise<string> {
  const draft = await store.begin();
  for (const chunk of chunks) {
    draft.digest(chunk);
    await draft.add(chunk);
  }
  await draft.written();
  const { name, landed } = await store.keep(draft, draft.sha256.slice(0, 32));
  expect(landed.bytes).toBe(content.length);
  expect(landed.sha256).toBe(createHash('sha256').update(content).digest('hex'));
  return name;
}

async function readAll(name: string): Promise<Buffer> {
  const parts: Buffer[] = [];
  for await (const part of store.original(name)) parts.push(part);
  return Buffer.concat(parts);
}

describe('LandingStore', () => {
  it('gives back every byte, in the order of arrival', async () => {
    expect((await readAll(await land())).equals(content)).toBe(true);
  });

  it('is one plain zstd file of frames one after the other (RFC 8878 section 3), read here by DuckDB', async () => {
    const file = join(directory, await land());
    const connection = await (await DuckDBInstance.create(':memory:')).connect();
    const read = await connection.runAndReadAll(
      `SELECT string_agg(line, '') AS text FROM read_csv('${file}', columns = {'line': 'VARCHAR'}, header = false,
        auto_detect = false, delim = '\t', compression = 'zstd', max_line_size = 10000000)`,
    );
    expect(read.getRowObjectsJS()[0]!.text).toBe(content.toString());
  });

  it('reads frames in small runs as well as in one', async () => {
    const name = await land();
    const landed = await store.index(name);
    const sizes: number[] = [];
    for await (const { bytes } of store.frames(name, landed, 64)) sizes.push(bytes.length);
    expect(sizes).toEqual(landed.frames.map((frame) => frame.size));
  });

  it('never gives back wrong bytes after a flipped bit', async () => {
    const name = await land();
    const file = join(directory, name);
    const good = readFileSync(file);
    let noticed = 0;
    for (let at = 0; at < good.length; at += Math.ceil(good.length / 60)) {
      const bad = Buffer.from(good);
      bad[at]! ^= 0x10;
      writeFileSync(file, bad);
      const read = await readAll(name).catch((error) => error);
      // A few header bits (the window size) do not matter to the content.
      if (Buffer.isBuffer(read)) expect(read.equals(content), `byte ${at}`).toBe(true);
      else {
        expect(read).toMatchObject({ code: 'landing_corrupt' });
        noticed++;
      }
    }
    expect(noticed).toBeGreaterThan(40);
  });

  it('notices a file cut short and a missing index', async () => {
    const name = await land();
    truncateSync(join(directory, name), 100);
    await expect(readAll(name)).rejects.toMatchObject({ code: 'landing_corrupt' });
    rmSync(join(directory, name.replace('.zst', '.frames.json')));
    await expect(readAll(name)).rejects.toMatchObject({ code: 'landing_corrupt' });
  });

  it('leaves nothing behind when an upload is given up, and clears what a crash left', async () => {
    const draft = await store.begin();
    await draft.add(Buffer.from('half'));
    await draft.discard();
    expect(readdirSync(join(directory, '.incoming'))).toEqual([]);
    const mine = await store.begin();
    const living = readdirSync(join(directory, '.incoming'));
    // A process id that no Linux gives (the largest is 2^22, proc(5)); and a name that tells nothing, untouched for days.
    const dead = living[0]!.replace(/_\d+_/, '_4194305_');
    for (const name of [dead, 'left.part', 'fresh.part']) writeFileSync(join(directory, '.incoming', name), 'x');
    utimesSync(join(directory, '.incoming', 'left.part'), new Date(2026, 0), new Date(2026, 0));
    await store.prepare();
    expect(readdirSync(join(directory, '.incoming')).sort()).toEqual([...living, 'fresh.part'].sort());
    await mine.discard();
  });

  it('says so when it cannot be written', async () => {
    const file = join(directory, 'plain-file');
    writeFileSync(file, '');
    const blocked = new LandingStore(join(file, 'landing'));
    await expect(blocked.prepare()).rejects.toMatchObject({ code: 'landing_unwritable' });
    await expect(blocked.begin()).rejects.toMatchObject({ code: 'landing_unwritable' });
  });
});
