import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { HEAD_BYTES, openBody } from '../../../../../apps/ingest/src/receive/body.js';

async function* pieces(bytes: Buffer, size: number, cutAt = Number.POSITIVE_INFINITY): AsyncGenerator<Buffer> {
  for (let at = 0; at < bytes.length; at += size) {
    if (at >= cutAt) throw new Error('aborted');
    yield bytes.subarray(at, at + size);
  }
}

async function all(source: AsyncIterable<Uint8Array>): Promise<Buffer> {
  const parts: Uint8Array[] = [];
  for await (const part of source) parts.push(part);
  return Buffer.concat(parts);
}

const text = Buffer.from('time,rpm\n'.repeat(100_000));

describe('openBody', () => {
  for (const [name, bytes] of [
    ['plain', text],
    ['gzip', gzipSync(text)],
  ] as const) {
    it(`reads the head and then everything from the first byte: ${name}`, async () => {
      for (const size of [1_000, 65_536, 10_000_000]) {
        const body = await openBody(pieces(bytes, size), 1 << 30);
        expect(body.complete).toBe(false);
        expect(body.head.length).toBeGreaterThanOrEqual(HEAD_BYTES);
        expect(Buffer.from(body.head).equals(text.subarray(0, body.head.length))).toBe(true);
        expect((await all(body.bytes)).equals(text)).toBe(true);
      }
    });

    it(`says when a short log is complete: ${name}`, async () => {
      const short = name === 'gzip' ? gzipSync('a,b\n') : Buffer.from('a,b\n');
      const body = await openBody(pieces(short, 1), 1 << 20);
      expect(body).toMatchObject({ complete: true });
      expect((await all(body.bytes)).toString()).toBe('a,b\n');
    });
  }

  it('takes an empty body', async () => {
    const body = await openBody(pieces(Buffer.alloc(0), 1), 10);
    expect(body.complete).toBe(true);
    expect(body.head.length).toBe(0);
  });

  it('reports a cut connection, a damaged gzip stream and too many bytes', async () => {
    const cut = await openBody(pieces(text, 10_000, 600_000), 1 << 30);
    await expect(all(cut.bytes)).rejects.toMatchObject({ code: 'body_cut' });
    const gzip = gzipSync(Buffer.from(Array.from({ length: 200_000 }, (_, i) => (i * 7919) % 251)));
    const damaged = await openBody(pieces(gzip.subarray(0, gzip.length - 20), 50_000), 1 << 30);
    await expect(all(damaged.bytes)).rejects.toMatchObject({ code: 'body_cut' });
    const large = await openBody(pieces(text, 10_000), 500_000);
    await expect(all(large.bytes)).rejects.toMatchObject({ code: 'body_too_large' });
    const bomb = await openBody(pieces(gzipSync(Buffer.alloc(5_000_000)), 50_000), 1_000_000);
    await expect(all(bomb.bytes)).rejects.toMatchObject({ code: 'body_too_large' });
  });
});
