// Set algebra of time; the rule itself is ours, no source.
import { countedParts, type Interval, intervalsMs, type RecordedDrive } from '@tallybay/risk';
import fc from 'fast-check';
import { expect, it } from 'vitest';

const SECOND = 1000;
const uploads = ['a', 'b', 'c', 'd'] as const;

const drives = fc
  .array(
    fc.record({
      uploadId: fc.constantFrom(...uploads),
      from: fc.integer({ min: 0, max: 300 }),
      seconds: fc.integer({ min: 0, max: 120 }),
    }),
    { maxLength: 8 },
  )
  .map((list) =>
    list.map(
      ({ uploadId, from, seconds }, index): RecordedDrive => ({
        ...{ driveId: `${uploadId}-${index}`, uploadId },
        // Ten-second steps leave no rest that is too short to count.
        recorded: [{ fromMs: from * 10 * SECOND, toMs: (from + seconds) * 10 * SECOND }],
      }),
    ),
  );

const covers = (intervals: readonly Interval[], ms: number) =>
  intervals.some((one) => one.fromMs <= ms && ms < one.toMs);

it('every second is counted from exactly one upload of those that have it', () => {
  fc.assert(
    fc.property(drives, fc.array(fc.integer({ min: 0, max: 9 }), { minLength: 4, maxLength: 4 }), (list, seconds) => {
      const parts = [...countedParts(list, (id) => seconds[uploads.indexOf(id as 'a')]!).values()];
      for (let ms = 5 * SECOND; ms < 4300 * SECOND; ms += 10 * SECOND) {
        const recorded = new Set(list.filter((one) => covers(one.recorded, ms)).map((one) => one.uploadId));
        const counted = new Set(parts.filter((one) => covers(one.counted, ms)).map((one) => one.uploadId));
        expect(counted.size).toBe(Math.min(1, recorded.size));
      }
    }),
    { numRuns: 60 },
  );
});

it('the order of the drives does not matter, and one more upload never changes which of two others goes first', () => {
  fc.assert(
    fc.property(drives, fc.integer(), (list, pivot) => {
      const cut = list.length === 0 ? 0 : Math.abs(pivot) % list.length;
      const shuffled = [...list.slice(cut), ...list.slice(0, cut)].toReversed();
      const counted = (of: readonly RecordedDrive[]) =>
        [...countedParts(of, () => 1)].sort(([a], [b]) => (a < b ? -1 : 1)).map(([id, part]) => [id, part.counted]);
      expect(counted(shuffled)).toEqual(counted(list));
    }),
    { numRuns: 60 },
  );
});

it('more seconds go first, then the id; what clocks differ by is no rest', () => {
  const drive = (uploadId: string, fromMs: number, toMs: number): RecordedDrive => ({
    ...{ driveId: `${uploadId}-d1`, uploadId, recorded: [{ fromMs, toMs }] },
  });
  const list = [drive('a', 0, 60_000), drive('b', 400, 60_400), drive('c', 30_000, 90_000)];
  const seconds: Record<string, number> = { a: 60, b: 60.04, c: 60.5 };
  const parts = countedParts(list, (id) => seconds[id]!);
  expect(parts.get('c-d1')!.elsewhere).toEqual([]);
  expect(parts.get('a-d1')!.counted).toEqual([{ fromMs: 0, toMs: 30_000 }]);
  expect(parts.get('b-d1')).toMatchObject({ counted: [] });
  expect(intervalsMs(parts.get('b-d1')!.elsewhere.flatMap(({ intervals }) => intervals))).toBe(60_000);
});
