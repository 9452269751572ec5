import { rm, truncate, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { streamParts } from '@tallybay/stream';
import { describe, expect, it } from 'vitest';
import { newestSegment, openPartition, partitionDirectory, readAll } from './partition-fixture.js';

const { DURABLE_END_FILE, SEGMENT_HEADER_BYTES, recoverTail, scanTail } = streamParts;

// What an acknowledgement means: libs/stream/src/port.ts, StreamProducer.send. How a tail is judged: frame.ts, recover.ts.

const noReport = (error: unknown) => {
  throw error;
};

/** A segment of five records, the last two written in one send. */
async function fiveRecords() {
  const directory = await partitionDirectory();
  const { append, appender } = openPartition(directory);
  for (const text of ['one', 'two', 'three']) await append(text);
  await append('four', 'five');
  await appender.close();
  return { directory, ...(await newestSegment(directory)) };
}

function endsOf(bytes: Buffer): number[] {
  const salt = bytes.readUInt32LE(16);
  const ends: number[] = [];
  for (let length = SEGMENT_HEADER_BYTES; length <= bytes.length; length++) {
    const part = bytes.subarray(SEGMENT_HEADER_BYTES, length);
    const { position } = scanTail(
      { bytes: part, salt, path: 'x', position: SEGMENT_HEADER_BYTES, nextOffset: 0n },
      noReport,
    );
    if (position === length && length > SEGMENT_HEADER_BYTES) ends.push(length);
  }
  return ends;
}

describe('a torn tail', () => {
  it('is found at every byte: whole records stay, the rest is cut, offsets go on without a gap', async () => {
    const { bytes } = await fiveRecords();
    const salt = bytes.readUInt32LE(16);
    const ends = endsOf(bytes);
    expect(ends).toHaveLength(5);
    for (let length = SEGMENT_HEADER_BYTES; length < bytes.length; length++) {
      const part = bytes.subarray(SEGMENT_HEADER_BYTES, length);
      const input = { bytes: part, salt, path: 'x', position: SEGMENT_HEADER_BYTES, nextOffset: 0n };
      const whole = ends.filter((end) => end <= length);
      expect(scanTail(input, noReport)).toEqual({
        position: whole.at(-1) ?? SEGMENT_HEADER_BYTES,
        nextOffset: BigInt(whole.length),
      });
    }
  });

  it('is cut in the file, and the next send takes the place', async () => {
    const { directory, path, bytes } = await fiveRecords();
    for (const lost of [1, 20, 60, 90]) {
      await writeFile(path, bytes);
      await truncate(path, bytes.length - lost);
      // After a power cut the unsynced mark of the durable end may be gone; whole records alone tell.
      await rm(join(directory, DURABLE_END_FILE), { force: true });
      const { append, appender, problems } = openPartition(directory);
      await append('again');
      await appender.close();
      const { texts } = await readAll(directory);
      const kept = texts.length - 1;
      expect(texts).toEqual(['0:one', '1:two', '2:three', '3:four', '4:five'].slice(0, kept).concat(`${kept}:again`));
      expect(kept).toBe(endsOf(bytes).filter((end) => end <= bytes.length - lost).length);
      expect(problems).toEqual([]);
    }
  });

  it('of zeros or of old bytes, as a power cut may leave it, is cut as well', async () => {
    const { directory, path, bytes } = await fiveRecords();
    for (const junk of [Buffer.alloc(5000), bytes.subarray(SEGMENT_HEADER_BYTES)]) {
      await writeFile(path, Buffer.concat([bytes, junk]));
      const tail = await recoverTail(directory, noReport);
      expect(tail).toMatchObject({ position: bytes.length, nextOffset: 5n, cutBytes: junk.length });
    }
  });
});

describe('damage in acknowledged records', () => {
  it('is never cut away: a flipped byte anywhere loses only the record it is in', async () => {
    const { directory, path, bytes } = await fiveRecords();
    const all = ['0:one', '1:two', '2:three', '3:four', '4:five'];
    const ends = endsOf(bytes);
    // The first three records had been acknowledged when the last send was written, which the file itself proves.
    for (let at = SEGMENT_HEADER_BYTES; at < ends[2]!; at += 7) {
      const damaged = Buffer.from(bytes);
      damaged[at]! ^= 0x10;
      await writeFile(path, damaged);
      await rm(join(directory, DURABLE_END_FILE), { force: true });
      const { append, appender, problems } = openPartition(directory);
      await append();
      await appender.close();
      const hit = ends.findIndex((end) => at < end);
      expect(problems).toHaveLength(1);
      expect(problems[0]).toMatchObject({ code: 'stream_corrupt', options: { place: { file: path } } });
      const skipped = await readAll(directory, { onCorrupt: 'skip' });
      expect(skipped.texts).toEqual(all.filter((_, index) => index !== hit));
      expect(skipped.problems.length).toBeGreaterThan(0);
      expect(skipped.problems[0]!.message).toContain(`Record ${hit} `);
      await expect(readAll(directory, { onCorrupt: 'halt' })).rejects.toMatchObject({ code: 'stream_corrupt' });
    }
  });

  it('stays when the mark of the durable end says so, even in the last record', async () => {
    const { directory, path, bytes } = await fiveRecords();
    const damaged = Buffer.from(bytes);
    damaged[bytes.length - 1]! ^= 1;
    await writeFile(path, damaged);
    const { append } = openPartition(directory);
    await append('six');
    const { texts } = await readAll(directory, { onCorrupt: 'skip' });
    expect(texts).toEqual(['0:one', '1:two', '2:three', '3:four', '5:six']);
  });

  it('never gives an offset twice when acknowledged bytes are gone from the file', async () => {
    const { directory, path, bytes } = await fiveRecords();
    await truncate(path, endsOf(bytes)[1]!);
    const { append, problems } = openPartition(directory);
    await append('six');
    expect(problems).toMatchObject([{ code: 'stream_corrupt' }]);
    const { texts } = await readAll(directory, { onCorrupt: 'skip' });
    expect(texts).toEqual(['0:one', '1:two', '5:six']);
  });
});
