import type { SnapshotFact } from '@tallybay/risk';
import type { EvalVehicle } from '../fleet/eval-vehicle.js';
import { clearHits, returnHits } from './clears-and-returns.js';
import { addHits, type Hits, noHits } from './code-truth.js';
import { drivenMonitors } from './driven-monitors.js';
import { caseOf, type ForecastPair, forecastPairs } from './forecasts.js';
import { hiddenClearHits, type VerdictPair, weeklyVerdicts } from './verdicts.js';

const MS_PER_WEEK = 7 * 86_400_000;

/** How often a vehicle is read: as the generator's shop does it, or once a week at its first occasion. */
export const READERS = ['every reading', 'one a week'] as const;
export type Reader = (typeof READERS)[number];

export interface CodesFigures {
  clears: Hits;
  returns: Hits;
  /** Without true returns that no reading could show. */
  returnsThatCouldBeSeen: Hits;
  hiddenClears: Hits;
  verdicts: VerdictPair[];
  forecasts: ForecastPair[];
}

export interface SeedCodes {
  read: Record<Reader, CodesFigures>;
  /** Forecasts for vehicles that only drive and are cleared often; the fleet has few clears. */
  driven: ForecastPair[];
}

const DRIVEN_VEHICLES = 30;

/** Codes and readiness of one fleet against its truth, for each way of reading it. */
export const codesOfSeed = (seed: number, fleet: readonly EvalVehicle[]): SeedCodes => ({
  read: {
    'every reading': figuresOf(fleet, (snapshots) => snapshots),
    'one a week': figuresOf(fleet, onePerWeek),
  },
  driven: forecastPairs(drivenMonitors(seed, DRIVEN_VEHICLES)),
});

function figuresOf(
  fleet: readonly EvalVehicle[],
  choose: (snapshots: readonly SnapshotFact[]) => readonly SnapshotFact[],
): CodesFigures {
  const read = fleet.map((lived) => ({ lived, snapshots: choose(lived.snapshots) }));
  const sum = (hits: (item: (typeof read)[number]) => Hits) => read.map(hits).reduce(addHits, noHits());
  return {
    clears: sum(({ lived, snapshots }) => clearHits(lived.truth, snapshots)),
    returns: sum(({ lived, snapshots }) => returnHits(lived.truth, snapshots).all),
    returnsThatCouldBeSeen: sum(({ lived, snapshots }) => returnHits(lived.truth, snapshots).asked),
    hiddenClears: sum(({ lived, snapshots }) => hiddenClearHits(lived, snapshots)),
    verdicts: read.flatMap(({ lived, snapshots }) => weeklyVerdicts(lived, snapshots)),
    forecasts: forecastPairs(read.map(({ lived, snapshots }) => caseOf(lived, snapshots))),
  };
}

/** The last reading of each stretch of seven days. */
function onePerWeek(snapshots: readonly SnapshotFact[]): SnapshotFact[] {
  const weeks = Map.groupBy(snapshots, ({ atMs }) => Math.floor(atMs / MS_PER_WEEK));
  return [...weeks.values()].map((list) => list.at(-1)!);
}
