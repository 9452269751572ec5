import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Worker } from 'node:worker_threads';
import { type StreamEvent, TOPICS } from '@tallybay/contracts';
import { initLake } from '@tallybay/lake';
import { openRegistry, type Registry } from '@tallybay/registry';
import { openStream, type Stream, type StreamProducer } from '@tallybay/stream';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { KnownUploads } from '../../../apps/ingest/src/receive/known-upload.js';
import { LandingStore } from '../../../apps/ingest/src/receive/landing.js';
import { LogReceiver } from '../../../apps/ingest/src/receive/log-receiver.js';
import { Publisher } from '../../../apps/ingest/src/receive/publisher.js';
import { LakeTurn } from '../../../apps/ingest/src/uploads/lake-turn.js';
import { Reprocess } from '../../../apps/ingest/src/uploads/reprocess.js';
import { readLake } from '../../faults/fingerprint.js';
import { LOAD_VEHICLES, Load } from '../../faults/load.js';
import { eventually } from '../../faults/scenarios.js';

/** Threads are compiled code, so what starts them is taken from the build; the types are the source's. */
type DecodingModule = typeof import('../../../apps/ingest/src/decode/decoding.js');
const BUILT = new URL('../../../apps/ingest/dist/decode/decoding.js', import.meta.url).href;

let home: string;
let registry: Registry;
let stream: Stream;
let producer: StreamProducer;
let landing: LandingStore;
let publisher: Publisher;
let reprocess: Reprocess;
let receiver: LogReceiver;
let decoding: InstanceType<DecodingModule['Decoding']> | null;
const quiet = { info() {}, warn() {}, error() {} };
const load = new Load(() => [], 11);

beforeEach(async () => {
  home = mkdtempSync(join(tmpdir(), 'tallybay-trouble-'));
  initLake(join(home, 'lake'));
  registry = await openRegistry({ kind: 'sqlite', file: join(home, 'registry.sqlite') });
  await registry.importFleet({
    name: 'trouble',
    depots: [{ id: 'northgate', name: 'Northgate', timeZone: 'America/Denver' }],
    vehicles: LOAD_VEHICLES.map((id) => ({ id, vehicleClass: 'service_pickup', depot: 'northgate' })),
    assignments: [],
    profiles: [],
  });
  stream = await openStream({ kind: 'spool', directory: join(home, 'spool'), partitions: 4 });
  await stream.prepare();
  producer = await stream.producer();
  landing = new LandingStore(join(home, 'landing'));
  await landing.prepare();
  publisher = new Publisher(registry, landing, producer);
  reprocess = new Reprocess(registry, landing, publisher, new LakeTurn(join(home, 'lake'), registry));
  const known = new KnownUploads(registry, landing, publisher, (id) => reprocess.decodeAgain(id));
  receiver = new LogReceiver(registry, landing, publisher, known, { maxBytes: 1e9, nowMs: Date.now });
  decoding = null;
});
afterEach(async () => {
  await decoding?.stop();
  await stream.close();
  await registry.close();
  rmSync(home, { recursive: true });
});

async function startDecoding(threads = 1): Promise<void> {
  const { Decoding } = (await import(BUILT)) as DecodingModule;
  decoding = new Decoding({
    lake: join(home, 'lake'),
    owner: 'p00000000_1_1_00000000',
    threads,
    lakePatienceMs: 1_000,
    registry,
    landing,
    stream,
    producer,
    log: quiet,
    decodeAnew: async (id) => void (await reprocess.decodeAgain(id)),
  });
  await decoding.start();
}

async function receive(shape: number): Promise<{ id: string; vehicle: string; rows: number }> {
  const { body, sent } = load.next(shape);
  async function* source() {
    yield body;
  }
  const receipt = await receiver.receive(source(), { vehicle: sent.vehicle });
  expect(receipt.id).toBe(sent.id);
  return { id: sent.id, vehicle: sent.vehicle, rows: sent.expected.rows };
}

const stateOf = async (id: string) => (await registry.uploads.get(id))?.state;
const untilStored = (id: string) => eventually(async () => (await stateOf(id)) === 'stored', `${id} is stored`, 30_000);
const lagOf = async () => {
  const consumer = await stream.consumer('tallybay-decode', [TOPICS.logs, TOPICS.snapshots]);
  const lag = await consumer.lag();
  return lag.reduce((sum, { committed, end }) => sum + Number(end - committed), 0);
};
const untilCommitted = () => eventually(async () => (await lagOf()) === 0, 'everything is committed', 30_000);
const events = async () =>
  (await stream.browse(TOPICS.events, 100)).map(
    (message) => JSON.parse(Buffer.from(message.value).toString()) as StreamEvent,
  );

describe('trouble while decoding', { timeout: 60_000 }, () => {
  it('a decode thread that dies in the middle is replaced, and its uploads come from the landing store', async () => {
    const uploads = [await receive(2), await receive(1), await receive(2)];
    await startDecoding();
    const { pool } = decoding as unknown as { pool: { threads: { worker: Worker }[] } };
    let ends = 0;
    for (let turn = 0; turn < 3; turn++) {
      await pool.threads[0]!.worker.terminate();
      ends++;
      await new Promise((resolve) => setTimeout(resolve, 900));
    }
    expect(ends).toBe(3);
    // An upload that was in the thread twice when it died counts as the cause and is set aside; decode again brings it back.
    for (const { id } of uploads) {
      await eventually(async () => ['stored', 'failed'].includes((await stateOf(id)) ?? ''), 'an end');
      if ((await stateOf(id)) === 'failed') await reprocess.decodeAgain(id);
      await untilStored(id);
    }
    await untilCommitted();
    const content = await readLake(join(home, 'lake'));
    expect(content.duplicated).toBe(0);
    for (const { id, rows } of uploads) expect(content.uploads.get(id)).toBe(rows);
  });

  it('an older attempt left open in another partition holds up no commits, and its rows do not come back', async () => {
    // Half of the first attempt is on the stream, as after a receiver's death; the second is for another vehicle.
    const { body, sent } = load.next(2);
    const half = { ...producer, send: producer.send.bind(producer) };
    const cut = new Publisher(registry, landing, {
      ...half,
      send: async (topic, messages) => {
        await producer.send(topic, messages.slice(0, 1));
        throw new Error('the receiver died here');
      },
      close: async () => {},
    });
    const known = new KnownUploads(registry, landing, cut, async () => {});
    const dying = new LogReceiver(registry, landing, cut, known, { maxBytes: 1e9, nowMs: Date.now });
    async function* source() {
      yield body;
    }
    await expect(dying.receive(source(), { vehicle: sent.vehicle })).rejects.toThrow('died');
    expect(await stateOf(sent.id)).toBe('landed');
    await startDecoding(2);
    await new Promise((resolve) => setTimeout(resolve, 500));
    // The first chunk has been decoded, but what is not wholly on the stream stays `landed`.
    expect(await stateOf(sent.id)).toBe('landed');
    const other = LOAD_VEHICLES.find((vehicle) => vehicle !== sent.vehicle)!;
    await reprocess.decodeAgain(sent.id, other);
    await untilStored(sent.id);
    await untilCommitted();
    const { fingerprints } = await readLake(join(home, 'lake'));
    expect([...fingerprints.keys()]).toEqual([other]);
    expect(fingerprints.get(other)?.rows).toBe(sent.expected.rows);
  });

  it('two attempts for two vehicles, both wholly on the stream, end with the newer one only', async () => {
    const first = await receive(2);
    const [a, b] = LOAD_VEHICLES.filter((vehicle) => vehicle !== first.vehicle);
    await reprocess.decodeAgain(first.id, a);
    await reprocess.decodeAgain(first.id, b);
    expect((await registry.uploads.get(first.id))?.attempt).toBe(2);
    await startDecoding(2);
    await untilStored(first.id);
    await untilCommitted();
    const { fingerprints, duplicated } = await readLake(join(home, 'lake'));
    expect([...fingerprints.keys()]).toEqual([b]);
    expect(duplicated).toBe(0);
  });

  it('a crash between storing and committing repeats the event, not the rows', async () => {
    const upload = await receive(1);
    await startDecoding();
    await untilStored(upload.id);
    await untilCommitted();
    await decoding!.stop();
    decoding = null;
    // The committed offsets are lost, as if the crash had come before them: everything is delivered again.
    await stream.close();
    rmSync(join(home, 'spool', 'groups'), { recursive: true });
    stream = await openStream({ kind: 'spool', directory: join(home, 'spool'), partitions: 4 });
    producer = await stream.producer();
    await startDecoding();
    await eventually(async () => (await events()).length === 2, 'the event comes again');
    await untilCommitted();
    expect((await events()).map((event) => (event.kind === 'upload_stored' ? event.uploadId : ''))).toEqual([
      upload.id,
      upload.id,
    ]);
    expect((await readLake(join(home, 'lake'))).uploads).toEqual(new Map([[upload.id, upload.rows]]));
    expect(readdirSync(join(home, 'lake', '.staging'))).toEqual([]);
  });

  it('an upload that never got onto the stream is sent when its file is sent again', async () => {
    const { body, sent } = load.next(0);
    const down = new Publisher(registry, landing, {
      send: async () => {
        const { TallybayError } = await import('@tallybay/contracts');
        throw new TallybayError('stream_unavailable', 'no broker');
      },
      close: async () => {},
    });
    async function* source() {
      yield body;
    }
    const known = new KnownUploads(registry, landing, down, async () => {});
    const refusing = new LogReceiver(registry, landing, down, known, { maxBytes: 1e9, nowMs: Date.now });
    await expect(refusing.receive(source(), { vehicle: sent.vehicle })).rejects.toMatchObject({
      code: 'stream_unavailable',
    });
    await expect(refusing.receive(source(), { vehicle: sent.vehicle })).rejects.toMatchObject({
      code: 'stream_unavailable',
    });
    await startDecoding();
    const receipt = await receiver.receive(source(), { vehicle: sent.vehicle });
    expect(receipt).toMatchObject({ id: sent.id, duplicate: true });
    expect(receipt.state).not.toBe('landed');
    await untilStored(sent.id);
    expect((await readLake(join(home, 'lake'))).uploads.get(sent.id)).toBe(sent.expected.rows);
  });
});
