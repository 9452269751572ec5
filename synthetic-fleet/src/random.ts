/**
 * Seeded random numbers that split by name: every vehicle, week, drive and log draws from its own stream, so adding a
 * vehicle or a draw in one place never moves a number in another.
 */
export class RandomStream {
  #a: number;
  #b: number;
  #c: number;
  #d: number;
  #spare: number | null = null;

  constructor(readonly key: string) {
    [this.#a, this.#b, this.#c, this.#d] = hash128(key);
    for (let i = 0; i < 12; i += 1) this.#word();
  }

  /** A stream that depends only on this stream's name and `parts`, not on what was drawn from it. */
  split(...parts: (string | number)[]): RandomStream {
    return new RandomStream(`${this.key}/${parts.join('/')}`);
  }

  /** Uniform in [0, 1). */
  next(): number {
    return this.#word() / 4294967296;
  }

  range(low: number, high: number): number {
    return low + (high - low) * this.next();
  }

  /** Integer in [low, high], both ends included. */
  int(low: number, high: number): number {
    return low + Math.floor(this.next() * (high - low + 1));
  }

  chance(probability: number): boolean {
    return this.next() < probability;
  }

  pick<T>(items: readonly T[]): T {
    return items[this.int(0, items.length - 1)] as T;
  }

  /** Picks by weight; weights need not add up to 1. */
  weighted<T extends { weight: number }>(items: readonly T[]): T {
    let left = this.next() * items.reduce((sum, item) => sum + item.weight, 0);
    for (const item of items) if ((left -= item.weight) < 0) return item;
    return items.at(-1) as T;
  }

  /** Standard normal (polar method). */
  normal(): number {
    if (this.#spare !== null) {
      const spare = this.#spare;
      this.#spare = null;
      return spare;
    }
    for (;;) {
      const u = 2 * this.next() - 1;
      const v = 2 * this.next() - 1;
      const r = u * u + v * v;
      if (r === 0 || r >= 1) continue;
      const f = Math.sqrt((-2 * Math.log(r)) / r);
      this.#spare = v * f;
      return u * f;
    }
  }

  shuffled<T>(items: readonly T[]): T[] {
    const result = [...items];
    for (let i = result.length - 1; i > 0; i -= 1) {
      const j = this.int(0, i);
      [result[i], result[j]] = [result[j] as T, result[i] as T];
    }
    return result;
  }

  /** Small fast counting generator, 32-bit word. */
  #word(): number {
    const t = (((this.#a + this.#b) | 0) + this.#d) | 0;
    this.#d = (this.#d + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = (this.#c << 21) | (this.#c >>> 11);
    this.#c = (this.#c + t) | 0;
    return t >>> 0;
  }
}

/** Four 32-bit words from a text; only has to spread near-equal names far apart. */
function hash128(text: string): [number, number, number, number] {
  const words: [number, number, number, number] = [0x9e3779b9, 0x243f6a88, 0xb7e15162, 0x85ebca6b];
  for (let i = 0; i < text.length; i += 1) {
    const c = text.charCodeAt(i);
    words[0] = Math.imul(words[0] ^ c, 0x01000193);
    words[1] = Math.imul(words[1] ^ (c + words[0]), 0x85ebca6b);
    words[2] = Math.imul(words[2] ^ (c + (words[1] >>> 7)), 0xc2b2ae35);
    words[3] = Math.imul(words[3] ^ (c + (words[2] >>> 11)), 0x27d4eb2f);
  }
  return words.map((word) => Math.imul(word ^ (word >>> 15), 0x2c1b3c6d) | 0) as [number, number, number, number];
}
