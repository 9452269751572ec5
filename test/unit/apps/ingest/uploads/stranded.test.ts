import type { UploadState } from '@tallybay/contracts';
import type { UploadRow } from '@tallybay/registry';
import { beforeEach, describe, expect, it } from 'vitest';
import { StrandedUploads } from '../../../../../apps/ingest/src/uploads/stranded.js';

// Own rule (issue "Apache Kafka for real"): no acknowledged log is lost, not even by a stream that has lost it.

let rows: { id: string; state: UploadState; attempt: number }[];
let partitions: { committed: bigint; end: bigint }[];
let again: string[];
let stranded: StrandedUploads;

beforeEach(() => {
  rows = [];
  partitions = [
    { committed: 0n, end: 0n },
    { committed: 0n, end: 0n },
  ];
  again = [];
  stranded = new StrandedUploads({
    registry: {
      uploads: { withState: async (state: UploadState) => rows.filter((row) => row.state === state) as UploadRow[] },
    } as never,
    lag: async () => partitions.map((offsets, partition) => ({ topic: 'logs', partition, ...offsets })),
    decodeAgain: async (id) => again.push(id),
    log: { info() {}, warn() {} },
  });
});

describe('an upload on the stream', () => {
  it('is left alone while the group has not come past it, however long that takes', async () => {
    rows = [{ id: 'a', state: 'queued', attempt: 0 }];
    partitions[1] = { committed: 3n, end: 5n };
    for (let pass = 0; pass < 5; pass++) expect(await stranded.pass()).toEqual([]);
    rows[0]!.state = 'stored';
    partitions[1] = { committed: 5n, end: 5n };
    await stranded.pass();
    expect(again).toEqual([]);
  });

  it('is left alone when it came after the partition was looked at', async () => {
    rows = [{ id: 'a', state: 'queued', attempt: 0 }];
    partitions[1] = { committed: 3n, end: 5n };
    await stranded.pass();
    rows = [
      { id: 'a', state: 'stored', attempt: 0 },
      { id: 'b', state: 'queued', attempt: 0 },
    ];
    partitions[1] = { committed: 5n, end: 9n };
    await stranded.pass();
    expect(again).toEqual([]);
  });

  it('that has not ended when the group is past it is decoded again, once', async () => {
    rows = [
      { id: 'a', state: 'queued', attempt: 0 },
      { id: 'b', state: 'decoding', attempt: 2 },
      { id: 'c', state: 'queued', attempt: 0 },
    ];
    partitions[0] = { committed: 1n, end: 7n };
    await stranded.pass();
    partitions[0] = { committed: 7n, end: 20n };
    // Somebody has begun a newer decode of this one meanwhile.
    rows[2]!.attempt = 1;
    expect(await stranded.pass()).toEqual(['a', 'b']);
    rows = [];
    for (let pass = 0; pass < 3; pass++) await stranded.pass();
    expect(again).toEqual(['a', 'b']);
  });

  it('is found after the stream was set up anew', async () => {
    rows = [{ id: 'a', state: 'queued', attempt: 0 }];
    partitions[0] = { committed: 40n, end: 50n };
    await stranded.pass();
    partitions[0] = { committed: 0n, end: 0n };
    expect(await stranded.pass()).toEqual(['a']);
  });
});
