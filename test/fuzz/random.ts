/** A small seeded generator (mulberry32): the same seed gives the same inputs on every machine. */
export interface Random {
  /** Integer in 0 … below - 1. */
  next(below: number): number;
}

export function seededRandom(seed: number): Random {
  let state = seed >>> 0;
  return {
    next(below) {
      state = (state + 0x6d2b79f5) >>> 0;
      let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
      mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
      return Math.floor((((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32) * below);
    },
  };
}

export function randomBytes(random: Random, most: number): Uint8Array {
  return Uint8Array.from({ length: random.next(most + 1) }, () => random.next(256));
}

/** A sample with a few characters changed, dropped, doubled or cut. */
export function mutated(random: Random, sample: string): string {
  let text = sample;
  for (let changes = random.next(4); changes > 0; changes--) {
    const at = random.next(text.length + 1);
    const character = String.fromCharCode(32 + random.next(95));
    const kinds = [
      () => text.slice(0, at) + character + text.slice(at + 1),
      () => text.slice(0, at) + text.slice(at + 1),
      () => text.slice(0, at) + text.slice(at - random.next(at + 1)),
      () => text.slice(0, at),
    ];
    text = kinds[random.next(kinds.length)]?.() ?? text;
  }
  return text;
}
