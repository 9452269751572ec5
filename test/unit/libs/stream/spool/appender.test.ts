import { type FileHandle, open, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { newestSegment, openPartition, partitionDirectory, readAll, segmentsOf } from './partition-fixture.js';

// Source of the promises: libs/stream/src/port.ts, StreamProducer.send; libs/stream/src/spool/appender.ts.

afterEach(() => {
  vi.restoreAllMocks();
});

async function fileHandlePrototype(directory: string): Promise<FileHandle> {
  const path = join(directory, 'probe');
  await writeFile(path, '');
  const handle = await open(path);
  await handle.close();
  return Object.getPrototypeOf(handle) as FileHandle;
}

describe('group commit', () => {
  it('syncs once for many sends made at the same time, and not before their bytes are written', async () => {
    const directory = await partitionDirectory();
    const { append } = openPartition(directory);
    await append('first');
    const sync = vi.spyOn(await fileHandlePrototype(directory), 'datasync');
    await Promise.all(Array.from({ length: 500 }, (_, n) => append(`${n}`)));
    expect(sync.mock.calls.length).toBeLessThanOrEqual(3);
    expect((await readAll(directory)).texts).toHaveLength(501);
  });

  it('resolves no send whose bytes a reader could not see by then', async () => {
    const directory = await partitionDirectory();
    const { append } = openPartition(directory);
    for (let n = 0; n < 20; n++) {
      await append(`${n}`);
      expect((await readAll(directory, { from: BigInt(n) })).texts).toEqual([`${n}:${n}`]);
    }
  });
});

describe('a failing disk', () => {
  it('rejects the send with stream_unavailable, keeps what was there, and goes on when there is room again', async () => {
    const directory = await partitionDirectory();
    const { append } = openPartition(directory);
    await append('kept');
    const prototype = await fileHandlePrototype(directory);
    const writev = prototype.writev;
    const full = Object.assign(new Error('ENOSPC: no space left on device, writev'), { code: 'ENOSPC' });
    // The disk takes half of the record and is full then.
    vi.spyOn(prototype, 'writev').mockImplementation(async function (this: FileHandle, buffers, position) {
      const [first] = buffers as Buffer[];
      await writev.call(this, [first!.subarray(0, first!.length / 2)], position);
      throw full;
    });
    const before = (await newestSegment(directory)).bytes;
    await expect(append('lost')).rejects.toMatchObject({
      code: 'stream_unavailable',
      message: expect.stringContaining('ENOSPC'),
      options: { advice: expect.stringContaining('Free space') },
    });
    vi.restoreAllMocks();
    expect(Buffer.compare((await newestSegment(directory)).bytes, before)).toBe(0);
    await append('after');
    expect((await readAll(directory)).texts).toEqual(['0:kept', '1:after']);
  });

  it('shows nothing to readers whose sync has failed', async () => {
    const directory = await partitionDirectory();
    const { append } = openPartition(directory);
    await append('kept');
    const broken = Object.assign(new Error('EIO: i/o error, fdatasync'), { code: 'EIO' });
    const sync = vi.spyOn(await fileHandlePrototype(directory), 'datasync').mockRejectedValueOnce(broken);
    await expect(append('lost')).rejects.toMatchObject({ code: 'stream_unavailable' });
    expect(sync).toHaveBeenCalled();
    expect((await readAll(directory)).texts).toEqual(['0:kept']);
    await append('after');
    expect((await readAll(directory)).texts).toEqual(['0:kept', '1:after']);
  });
});

describe('segments', () => {
  it('are read across their borders from any offset, whatever the sizes of reads', async () => {
    const directory = await partitionDirectory();
    const { append } = openPartition(directory, 4096);
    const texts = Array.from({ length: 120 }, (_, n) => `${n}-${'x'.repeat((n * 37) % 400)}`);
    for (let n = 0; n < 120; n += 4) await append(...texts.slice(n, n + 4));
    expect((await segmentsOf(directory)).length).toBeGreaterThan(4);
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 0, max: 120 }),
        fc.integer({ min: 1, max: 3000 }),
        fc.integer({ min: 1, max: 50 }),
        async (from, maxBytes, maxMessages) => {
          const read = await readAll(directory, { from: BigInt(from), maxBytes, maxMessages });
          expect(read.texts).toEqual(texts.slice(from).map((text, n) => `${from + n}:${text}`));
        },
      ),
      { numRuns: 25 },
    );
  });

  it('are sought through the sparse index, and without it', async () => {
    const directory = await partitionDirectory();
    const { append } = openPartition(directory, 64 * 1024 * 1024);
    const big = 'y'.repeat(300_000);
    for (let n = 0; n < 20; n++) await append(`${n}${big}`);
    const index = (await newestSegment(directory)).path.replace(/\.seg$/, '.idx');
    const shown = async () => (await readAll(directory, { from: 17n })).texts.map((text) => text.slice(0, 5));
    const expected = ['17:17', '18:18', '19:19'];
    expect(await shown()).toEqual(expected);
    // Rows that a crash left wrong are not believed.
    await writeFile(index, Buffer.alloc(160, 1));
    expect(await shown()).toEqual(expected);
  });
});
