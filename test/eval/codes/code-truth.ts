import type { VehicleTruth } from '@tallybay/synthetic-fleet';

/** A code that really came back: cleared and failing again, or erased by the module and confirmed again. */
export interface TrueReturn {
  code: string;
  atMs: number;
  after: 'cleared' | 'gone';
}

/** Returns by the events of the generator's own control module. */
export function trueReturns(truth: VehicleTruth): TrueReturn[] {
  return [...Map.groupBy(truth.codes, ({ code }) => code)].flatMap(([code, events]) => {
    let gone: TrueReturn['after'] | null = null;
    return events.flatMap(({ event, at }): TrueReturn[] => {
      if (event === 'cleared') gone = 'cleared';
      else if (event === 'erased') gone = 'gone';
      const back = event === 'confirmed' || event === 'returned' || (event === 'pending' && gone === 'cleared');
      if (!back || gone === null) return [];
      const after = gone;
      gone = null;
      return [{ code, atMs: Date.parse(at), after }];
    });
  });
}

/** Found, missed and made up; shares are null where there is nothing to share. */
export interface Hits {
  found: number;
  missed: number;
  madeUp: number;
}

export const noHits = (): Hits => ({ found: 0, missed: 0, madeUp: 0 });
export const addHits = (a: Hits, b: Hits): Hits => ({
  ...{ found: a.found + b.found, missed: a.missed + b.missed, madeUp: a.madeUp + b.madeUp },
});
export const precisionOf = ({ found, madeUp }: Hits): number | null => shareOf(found, found + madeUp);
export const recallOf = ({ found, missed }: Hits): number | null => shareOf(found, found + missed);
export const shareOf = (part: number, whole: number): number | null => (whole === 0 ? null : part / whole);
