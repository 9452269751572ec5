/**
 * SHA-256 (FIPS 180-4) of a stream of bytes. The browser's own digest wants the whole file in memory, and is missing where
 * the page is served without TLS, as on a depot's own network.
 */
export class Sha256 {
  private readonly state = Uint32Array.from(INITIAL);
  private readonly block = new Uint8Array(BLOCK_BYTES);
  private readonly words = new Uint32Array(64);
  private filled = 0;
  private bytes = 0;

  update(data: Uint8Array): void {
    this.bytes += data.length;
    let at = 0;
    if (this.filled > 0) {
      at = Math.min(BLOCK_BYTES - this.filled, data.length);
      this.block.set(data.subarray(0, at), this.filled);
      this.filled += at;
      if (this.filled < BLOCK_BYTES) return;
      this.compress(this.block, 0);
    }
    for (; at + BLOCK_BYTES <= data.length; at += BLOCK_BYTES) this.compress(data, at);
    this.block.set(data.subarray(at));
    this.filled = data.length - at;
  }

  /** Lower-case hexadecimal; the object is used up. */
  digest(): string {
    const bits = this.bytes * 8;
    const tail = new Uint8Array(((this.filled + 9 + 63) & ~63) - this.filled);
    tail[0] = 0x80;
    const view = new DataView(tail.buffer);
    view.setUint32(tail.length - 8, Math.floor(bits / 2 ** 32));
    view.setUint32(tail.length - 4, bits >>> 0);
    this.update(tail);
    return Array.from(this.state, (word) => word.toString(16).padStart(8, '0')).join('');
  }

  /** One block of 64 bytes, section 6.2.2. */
  private compress(data: Uint8Array, at: number): void {
    const w = this.words;
    for (let t = 0, i = at; t < 16; t++, i += 4)
      w[t] = (data[i]! << 24) | (data[i + 1]! << 16) | (data[i + 2]! << 8) | data[i + 3]!;
    for (let t = 16; t < 64; t++) {
      const x = w[t - 15]!;
      const y = w[t - 2]!;
      const small0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
      const small1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
      w[t] = w[t - 16]! + small0 + w[t - 7]! + small1;
    }
    const s = this.state;
    let [a, b, c, d] = [s[0]!, s[1]!, s[2]!, s[3]!];
    let [e, f, g, h] = [s[4]!, s[5]!, s[6]!, s[7]!];
    for (let t = 0; t < 64; t++) {
      const big1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const t1 = (h + big1 + ((e & f) ^ (~e & g)) + K[t]! + w[t]!) | 0;
      const big0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const t2 = (big0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      h = g;
      g = f;
      f = e;
      e = (d + t1) | 0;
      d = c;
      c = b;
      b = a;
      a = (t1 + t2) | 0;
    }
    s[0]! += a;
    s[1]! += b;
    s[2]! += c;
    s[3]! += d;
    s[4]! += e;
    s[5]! += f;
    s[6]! += g;
    s[7]! += h;
  }
}

const BLOCK_BYTES = 64;

/** First 64 primes: the constants are bits of their cube roots, the initial state of the square roots of the first 8. */
const PRIMES = firstPrimes(64);
const K = Uint32Array.from(PRIMES, (prime) => fractionBits(BigInt(prime), 3n));
const INITIAL = Uint32Array.from(PRIMES.slice(0, 8), (prime) => fractionBits(BigInt(prime), 2n));

function firstPrimes(count: number): number[] {
  const primes: number[] = [];
  for (let n = 2; primes.length < count; n++) if (primes.every((prime) => n % prime !== 0)) primes.push(n);
  return primes;
}

/** First 32 bits of the fraction of the root: the whole-number root of n * 2^(32 * degree), without its whole part. */
function fractionBits(n: bigint, degree: bigint): number {
  const target = n << (32n * degree);
  let low = 0n;
  let high = 1n << 40n;
  while (high - low > 1n) {
    const middle = (low + high) >> 1n;
    if (middle ** degree <= target) low = middle;
    else high = middle;
  }
  return Number(low & 0xffff_ffffn);
}
