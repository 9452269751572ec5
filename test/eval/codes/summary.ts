import { addHits, type Hits, noHits, precisionOf, recallOf, shareOf } from './code-truth.js';
import type { ForecastPair } from './forecasts.js';
import { type CodesFigures, READERS, type Reader, type SeedCodes } from './seed-codes.js';
import { type VerdictPair, verdictHits } from './verdicts.js';

const BINS = 5;
const VERDICTS = ['pass', 'refused', 'fail'] as const;

export interface HitFigures extends Hits {
  precision: number | null;
  recall: number | null;
}

export interface ForecastFigures {
  asked: number;
  /** Of those, with a chance; the others had too little history. */
  given: number;
  /** Mean squared error of the chance, and of the share that came true said of every one. */
  brier: number | null;
  brierOfShare: number | null;
  /** By the chance that was given: how many, the mean chance, the share that came true. */
  bins: { from: number; count: number; meanChance: number; cameTrue: number }[];
}

export interface CodesSummary {
  hits: Record<'clears' | 'returns' | 'returnsThatCouldBeSeen' | 'hiddenClears', HitFigures>;
  verdicts: Record<(typeof VERDICTS)[number], HitFigures>;
  verdictWeeks: number;
  verdictsRight: number;
  /** Those of vehicles to which nothing happened since the reading. */
  freshWeeks: number;
  freshRight: number;
  forecast: ForecastFigures;
}

export interface AllCodes {
  read: Record<Reader, CodesSummary>;
  driven: ForecastFigures;
}

/** Figures of all seeds together, for each way of reading. */
export function summariseCodes(seeds: readonly SeedCodes[]): AllCodes {
  const entries = READERS.map((reader) => [reader, summaryOf(seeds.map(({ read }) => read[reader]))] as const);
  const read = Object.fromEntries(entries) as AllCodes['read'];
  return { read, driven: forecastFigures(seeds.flatMap(({ driven }) => driven)) };
}

function summaryOf(seeds: readonly CodesFigures[]): CodesSummary {
  const sum = (name: keyof CodesSummary['hits']) => figures(seeds.map((seed) => seed[name]).reduce(addHits, noHits()));
  const pairs = seeds.flatMap(({ verdicts }) => verdicts).filter(({ truly }) => truly !== 'not_subject');
  const verdicts = VERDICTS.map((verdict) => [verdict, figures(verdictHits(pairs, verdict))] as const);
  return {
    hits: {
      clears: sum('clears'),
      returns: sum('returns'),
      returnsThatCouldBeSeen: sum('returnsThatCouldBeSeen'),
      hiddenClears: sum('hiddenClears'),
    },
    verdicts: Object.fromEntries(verdicts) as CodesSummary['verdicts'],
    verdictWeeks: pairs.length,
    verdictsRight: pairs.filter(isRight).length,
    freshWeeks: pairs.filter(({ fresh }) => fresh).length,
    freshRight: pairs.filter((pair) => pair.fresh && isRight(pair)).length,
    forecast: forecastFigures(seeds.flatMap(({ forecasts }) => forecasts)),
  };
}

const isRight = ({ said, truly }: VerdictPair): boolean => said === truly;

const figures = (hits: Hits): HitFigures => ({ ...hits, precision: precisionOf(hits), recall: recallOf(hits) });

function forecastFigures(pairs: readonly ForecastPair[]): ForecastFigures {
  const given = pairs.flatMap(({ chance, complete }) => (chance === null ? [] : [{ chance, came: complete ? 1 : 0 }]));
  const mean = (values: readonly number[]) =>
    shareOf(
      values.reduce((sum, value) => sum + value, 0),
      values.length,
    );
  const share = mean(given.map(({ came }) => came)) ?? 0;
  return {
    ...{ asked: pairs.length, given: given.length },
    brier: mean(given.map(({ chance, came }) => (chance - came) ** 2)),
    brierOfShare: mean(given.map(({ came }) => (share - came) ** 2)),
    bins: Array.from({ length: BINS }, (_, bin) => bin).flatMap((bin) => {
      const inside = given.filter(({ chance }) => Math.min(BINS - 1, Math.floor(chance * BINS)) === bin);
      const from = bin / BINS;
      const meanChance = mean(inside.map(({ chance }) => chance));
      const cameTrue = mean(inside.map(({ came }) => came));
      return meanChance === null || cameTrue === null ? [] : [{ from, count: inside.length, meanChance, cameTrue }];
    }),
  };
}
