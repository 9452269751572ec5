import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { OffsetTracker } from '../../../../../apps/ingest/src/decode/offset-tracker.js';

describe('OffsetTracker', () => {
  it('commits nothing past the first message of the oldest open upload', () => {
    const tracker = new OffsetTracker();
    expect(tracker.committable).toBeNull();
    tracker.seen('a', 10n);
    tracker.seen('b', 11n);
    tracker.seen('a', 12n);
    expect(tracker.committable).toBe(10n);
    tracker.done('b');
    expect(tracker.committable).toBe(10n);
    tracker.done('a');
    expect(tracker.committable).toBe(13n);
  });

  it('goes past messages that nothing waits for, but not past an open one', () => {
    const tracker = new OffsetTracker();
    tracker.passed(3n);
    expect(tracker.committable).toBe(4n);
    tracker.seen('a/0', 4n);
    tracker.passed(5n);
    expect(tracker.committable).toBe(4n);
    tracker.done('a/0');
    expect(tracker.committable).toBe(6n);
  });

  it('never commits past an open message and never goes back, for any interleaving', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.constantFrom('a', 'b', 'c', 'd'), fc.boolean()), { maxLength: 60 }),
        (events) => {
          const tracker = new OffsetTracker();
          const openFirst = new Map<string, bigint>();
          let committed = -1n;
          for (const [i, [upload, done]] of events.entries()) {
            const offset = BigInt(i);
            if (!openFirst.has(upload)) openFirst.set(upload, offset);
            tracker.seen(upload, offset);
            if (done) {
              openFirst.delete(upload);
              tracker.done(upload);
            }
            const next = tracker.committable!;
            for (const first of openFirst.values()) expect(next).toBeLessThanOrEqual(first);
            expect(next).toBeGreaterThanOrEqual(committed);
            committed = next;
          }
        },
      ),
    );
  });
});
