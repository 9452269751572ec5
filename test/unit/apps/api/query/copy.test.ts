import pino from 'pino';
import { describe, expect, it } from 'vitest';
import { Copy } from '../../../../../apps/api/src/query/reference/copy.js';

const MINUTE_MS = 60_000;

/** A copy whose writer ends when the test says so. */
function slowCopy() {
  const state = { nowMs: 0, begun: 0, end: [] as (() => void)[] };
  const parts = { log: pino({ level: 'silent' }), nowMs: () => state.nowMs };
  const copy = new Copy(parts, () => {
    state.begun += 1;
    return new Promise<void>((resolve) => state.end.push(resolve));
  });
  const finish = async () => {
    state.end.shift()!();
    await new Promise(setImmediate);
  };
  return { copy, state, finish };
}

const isSettled = (promise: Promise<unknown>): Promise<boolean> =>
  Promise.race([promise.then(() => true), new Promise<boolean>((resolve) => setImmediate(resolve, false))]);

describe('a copy that is made when somebody asks', () => {
  it('is waited for by those who want a recent one, not by those who take any', async () => {
    const { copy, state, finish } = slowCopy();
    expect(await isSettled(copy.refresh('any'))).toBe(true);
    const recent = copy.refresh('recent');
    expect(await isSettled(recent)).toBe(false);
    expect(state.begun).toBe(1);
    expect(copy.asOfMs).toBeNull();
    state.nowMs = MINUTE_MS;
    await finish();
    await recent;
    expect(copy.asOfMs).toBe(0);
  });

  it('is made anew in the background after half a minute, and waited for after ten', async () => {
    const { copy, state, finish } = slowCopy();
    void copy.refresh('any');
    await finish();
    state.nowMs = 0.4 * MINUTE_MS;
    await copy.refresh('recent');
    expect(state.begun).toBe(1);
    state.nowMs = 5 * MINUTE_MS;
    await copy.refresh('recent');
    expect(state.begun).toBe(2);
    await finish();
    state.nowMs = 20 * MINUTE_MS;
    expect(await isSettled(copy.refresh('recent'))).toBe(false);
  });

  it('is begun after the ask of who wants what is known now', async () => {
    const { copy, state, finish } = slowCopy();
    void copy.refresh('any');
    const now = copy.refresh('now');
    await finish();
    expect(await isSettled(now)).toBe(false);
    expect(state.begun).toBe(2);
    await finish();
    await now;
  });

  it('fails for who waits, and is tried again', async () => {
    let tries = 0;
    const copy = new Copy({ log: pino({ level: 'silent' }), nowMs: () => 0 }, async () => {
      if (++tries < 2) throw new Error('no room');
    });
    await copy.refresh('any');
    await expect(copy.refresh('recent')).rejects.toThrow('no room');
    await copy.refresh('recent');
    expect(tries).toBe(2);
  });
});
