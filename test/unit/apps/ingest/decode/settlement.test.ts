import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { SnapshotMeta, StreamEvent } from '@tallybay/contracts';
import { filesOfUpload, initLake, stageSnapshot, stagingDirectory } from '@tallybay/lake';
import { openRegistry, type Registry } from '@tallybay/registry';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { DecodedLog } from '../../../../../apps/ingest/src/decode/log-session.js';
import { ProgressBook } from '../../../../../apps/ingest/src/decode/progress-book.js';
import { Settlement } from '../../../../../apps/ingest/src/decode/settlement.js';

// Own rule (issue "Apache Kafka for real"): an upload that is decoded again for another vehicle, while the old vehicle's
// partition is still at it in another process, leaves the rows of one vehicle only.

const UPLOAD = 'f'.repeat(32);
const TIME = '2026-10-05T08:00:00Z';
const signal = new AbortController().signal;
const quiet = { info() {}, warn() {}, error() {} };

let home: string;
let lake: string;
const opened: Registry[] = [];
const books: ProgressBook[] = [];
let events: StreamEvent[];
let decodedAnew: number;

beforeEach(async () => {
  home = mkdtempSync(join(tmpdir(), 'tallybay-settlement-'));
  lake = join(home, 'lake');
  initLake(lake);
  events = [];
  decodedAnew = 0;
  const registry = await openOne();
  await registry.uploads.insertIfAbsent({
    id: UPLOAD,
    kind: 'snapshot',
    state: 'queued',
    vehicle: 'A',
    bytes: 1,
    sha256: 'h',
    receivedAt: TIME,
  });
});
afterEach(async () => {
  for (const book of books.splice(0)) book.close();
  for (const registry of opened.splice(0)) await registry.close();
  rmSync(home, { recursive: true });
});

async function openOne(): Promise<Registry> {
  const registry = await openRegistry({ kind: 'sqlite', file: join(home, 'registry.sqlite') });
  opened.push(registry);
  return registry;
}

/** Stops the next call of a method behind its work, until `go`. */
function stopAfter<K extends 'get' | 'transitionOf'>(
  registry: Registry,
  method: K,
): { reached: Promise<void>; go(): void } {
  const { uploads } = registry;
  const original = uploads[method].bind(uploads) as (...args: never[]) => Promise<unknown>;
  let reachedNow = () => {};
  let go = () => {};
  const reached = new Promise<void>((resolve) => (reachedNow = resolve));
  const gate = new Promise<void>((resolve) => (go = resolve));
  Object.defineProperty(uploads, method, {
    configurable: true,
    value: async (...args: never[]) => {
      Reflect.deleteProperty(uploads, method);
      // A write is held up before it happens, a read after it: both as a process that stands still there.
      if (method === 'transitionOf') {
        reachedNow();
        await gate;
        return original(...args);
      }
      const answer = await original(...args);
      reachedNow();
      await gate;
      return answer;
    },
  });
  return { reached, go };
}

async function worker(): Promise<{ registry: Registry; settlement: Settlement }> {
  const registry = await openOne();
  const progress = new ProgressBook(registry, () => {}, 1_000_000);
  books.push(progress);
  const settlement: Settlement = new Settlement({
    lake,
    registry,
    producer: {
      send: async (_topic, messages) => {
        for (const { value } of messages) events.push(JSON.parse(Buffer.from(value).toString()) as StreamEvent);
      },
      close: async () => {},
    },
    progress,
    log: quiet,
    nowMs: Date.now,
    lakePatienceMs: 500,
    decodeAnew: async (id) => {
      decodedAnew++;
      const row = (await registry.uploads.get(id))!;
      await registry.uploads.transitionOf(row, ['queued', 'stored', 'failed'], 'queued', { attempt: row.attempt + 1 });
      const meta = metaOf(
        row.vehicle!,
        row.attempt + 1,
        ['A', 'B'].filter((vehicle) => vehicle !== row.vehicle),
      );
      // By the worker of the vehicle's partition, in its own time.
      again.push((await other()).store(meta, decoded(meta), signal));
    },
  });
  const other = async () => (await worker()).settlement;
  return { registry, settlement };
}
const again: Promise<void>[] = [];

const metaOf = (vehicleId: string, attempt: number, formerVehicleIds: string[] = []): SnapshotMeta => ({
  version: 1,
  uploadId: UPLOAD,
  vehicleId,
  recorderId: null,
  fileName: null,
  attempt,
  formerVehicleIds,
});

function decoded(meta: SnapshotMeta): DecodedLog {
  const identity = { ...meta, catalogueVersion: 'test' };
  return {
    staged: stageSnapshot(lake, identity, { version: 1, time: TIME } as never, `o${meta.vehicleId}${meta.attempt}`),
    counts: { rows: 1, rowsKept: 1, rowsRejected: 0, rowsRejectedBy: {}, valuesRejectedBy: {} },
    firstMs: Date.parse(TIME),
    lastMs: Date.parse(TIME),
    catalogueVersion: 'test',
    crossings: [],
  };
}

const decideFor = (registry: Registry, vehicle: string, attempt: number) =>
  registry.uploads.transition(UPLOAD, ['queued', 'stored'], 'queued', { vehicle, attempt });
const shown = () =>
  ['A', 'B'].flatMap((vehicle) =>
    (['snapshots', 'uploads'] as const)
      .filter((table) => filesOfUpload(lake, table, { vehicleId: vehicle, uploadId: UPLOAD }).paths.length > 0)
      .map((table) => `${vehicle}/${table}`),
  );

async function expectOnlyB(registry: Registry): Promise<void> {
  while (again.length > 0) await again.shift();
  expect(shown()).toEqual(['B/snapshots', 'B/uploads']);
  expect(await registry.uploads.get(UPLOAD)).toMatchObject({ state: 'stored', vehicle: 'B' });
  expect(readdirSync(stagingDirectory(lake))).toEqual([]);
}

describe('a decode for another vehicle overtakes one that is being stored', () => {
  it('and is stored before the old one goes on', async () => {
    const [old, fresh] = [await worker(), await worker()];
    const oldMeta = metaOf('A', 0);
    const stop = stopAfter(old.registry, 'get');
    const storing = old.settlement.store(oldMeta, decoded(oldMeta), signal);
    await stop.reached;
    await decideFor(fresh.registry, 'B', 1);
    const meta = metaOf('B', 1, ['A']);
    await fresh.settlement.store(meta, decoded(meta), signal);
    stop.go();
    await storing;
    await expectOnlyB(fresh.registry);
    expect(decodedAnew).toBe(1);
  });

  it('and is in the lake, but not yet marked, when the old one goes on', async () => {
    const [old, fresh] = [await worker(), await worker()];
    const oldMeta = metaOf('A', 0);
    const stop = stopAfter(old.registry, 'get');
    const storing = old.settlement.store(oldMeta, decoded(oldMeta), signal);
    await stop.reached;
    await decideFor(fresh.registry, 'B', 1);
    const meta = metaOf('B', 1, ['A']);
    const beforeMark = stopAfter(fresh.registry, 'transitionOf');
    const marking = fresh.settlement.store(meta, decoded(meta), signal);
    await beforeMark.reached;
    stop.go();
    await storing;
    beforeMark.go();
    await marking;
    await expectOnlyB(fresh.registry);
  });

  it('and begins after the old one is in the lake, but before that one is marked', async () => {
    const [old, fresh] = [await worker(), await worker()];
    const oldMeta = metaOf('A', 0);
    const stop = stopAfter(old.registry, 'transitionOf');
    const storing = old.settlement.store(oldMeta, decoded(oldMeta), signal);
    await stop.reached;
    expect(shown()).toEqual(['A/snapshots', 'A/uploads']);
    await decideFor(fresh.registry, 'B', 1);
    const meta = metaOf('B', 1, ['A']);
    await fresh.settlement.store(meta, decoded(meta), signal);
    stop.go();
    await storing;
    await expectOnlyB(fresh.registry);
    expect(events.filter((event) => event.kind === 'upload_stored' && event.vehicleId === 'A')).toEqual([]);
  });

  it('and the old one, delivered once more to a third worker, is dropped', async () => {
    const [fresh, third] = [await worker(), await worker()];
    await decideFor(fresh.registry, 'B', 1);
    const meta = metaOf('B', 1, ['A']);
    await fresh.settlement.store(meta, decoded(meta), signal);
    const oldMeta = metaOf('A', 0);
    await third.settlement.store(oldMeta, decoded(oldMeta), signal);
    await expectOnlyB(fresh.registry);
    expect(decodedAnew).toBe(0);
  });
});
