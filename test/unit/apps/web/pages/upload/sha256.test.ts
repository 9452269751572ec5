import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Sha256 } from '../../../../../../apps/web/src/pages/upload/sha256.js';

const hashOf = (...parts: Uint8Array[]): string => {
  const hash = new Sha256();
  for (const part of parts) hash.update(part);
  return hash.digest();
};

describe('the hash that a browser makes of a file', () => {
  it('is the one of FIPS 180-4 for its example "abc"', () => {
    const abc = new TextEncoder().encode('abc');
    expect(hashOf(abc)).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  });

  it('is the one that Node makes, however the bytes are cut', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), fc.nat(400), (bytes, cut) => {
        const expected = createHash('sha256').update(bytes).digest('hex');
        expect(hashOf(bytes.subarray(0, cut), bytes.subarray(cut))).toBe(expected);
      }),
    );
  });
});
