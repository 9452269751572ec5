import type { Highs } from 'highs';
import { costLeftOut } from '../model/costs.js';
import { allPlaces } from '../model/places.js';
import type { Place, Placement, PlanProblem } from '../model/problem.js';
import { equalBays, singleBays } from './bay-groups.js';
import { Board } from './board.js';
import { type Relaxation, relaxation, roughPlan, solveExact } from './highs-solve.js';
import { type Pinned, pinnedPlaces } from './pins.js';
import { rebuild } from './rebuild.js';
import { costOf, improve, insertAll, type Search, urgentFirst } from './search.js';
import { sequence } from './sequence.js';

export interface PlanOptions {
  highs: Highs;
  /** Time for everything [s]. */
  seconds: number;
  /** Any clock, epoch or not. */
  clockMs: () => number;
  onProgress?: (progress: { seconds: number; cost: number; bound: number | null }) => void;
}

export interface SolvedPlan {
  placements: Placement[];
  /** Demands without a place within the horizon. */
  leftOut: number[];
  cost: number;
  /** No plan costs less. */
  bound: number;
  /** (cost - bound) / cost, 0 for a plan without cost. */
  gap: number;
  seconds: number;
  optimal: boolean;
  conflicts: Pinned['conflicts'];
  board: Board;
}

/** Up to so many choices the exact model is solved as it is. */
const SMALL = 4000;
/** So many choices, the likeliest, are looked at in more detail when there are more. */
const NARROW = 6000;
/** A plan this near to the bound is not worth more time. */
const GOOD_ENOUGH = 0.003;
/** Of the time that is left after building, the part for rebuilding; the exact model has the rest. */
const SEARCH_SHARE = 0.97;
const TOLERANCE = 1e-6;
const MS = 1000;

/**
 * The plan of least cost that can be found in the time, with a bound on how much better any plan could be.
 *
 * Small problems go to the exact model whole. Larger ones: the relaxed model over equal bays gives the bound and what each
 * choice would cost beyond it; a rough plan with whole people but divisible work says who works where; from that a plan is
 * built and improved by moves; the exact model then gets the choices that could still be part of a better plan (reduced cost
 * within the distance between plan and bound), or the likeliest of them, with the plan as its start.
 */
export function solvePlan(problem: PlanProblem, options: PlanOptions): SolvedPlan {
  const startMs = options.clockMs();
  const elapsed = () => (options.clockMs() - startMs) / MS;
  const pinned = pinnedPlaces(problem);
  const places = allPlaces(problem);
  const held = new Set(pinned.places.map(({ demand }) => demand));
  const free = [...problem.demands.keys()].filter((demand) => !held.has(demand));
  const tell = (cost: number, bound: number | null) => options.onProgress?.({ seconds: elapsed(), cost, bound });

  const run: Run = { problem, pinned, places, free, options, elapsed, tell };
  const count = places.reduce((sum, list) => sum + list.length, 0);
  const found = count <= SMALL ? solveSmall(run) : solveLarge(run);
  const { best, cost, bound } = found;
  const optimal = cost - bound <= TOLERANCE * Math.max(1, cost);
  tell(cost, bound);
  return {
    placements: sequence(best),
    leftOut: free.filter((demand) => best.placed[demand] === null),
    ...{ cost, bound, optimal, conflicts: pinned.conflicts, board: best, seconds: elapsed() },
    gap: cost <= TOLERANCE ? 0 : Math.max(0, cost - bound) / cost,
  };
}

interface Run {
  problem: PlanProblem;
  pinned: Pinned;
  places: readonly (readonly Place[])[];
  free: readonly number[];
  options: PlanOptions;
  elapsed: () => number;
  tell: (cost: number, bound: number | null) => void;
}

interface Found {
  best: Board;
  cost: number;
  bound: number;
}

function solveSmall(run: Run): Found {
  const { problem, pinned, places, options, elapsed } = run;
  const best = build(run, 0.2);
  const cost = costOf(problem, best);
  const bound = cheapest(problem, places, pinned);
  run.tell(cost, bound);
  if (cost - bound <= TOLERANCE) return { best, cost, bound };
  const parts = { problem, pinned, places, groups: singleBays(problem) };
  const exact = solveExact(parts, best, { highs: options.highs, seconds: left(options, elapsed()), tell: run.tell });
  if (!exact) return { best, cost, bound };
  if (exact.cost < cost) return { best: exact.board, cost: exact.cost, bound: Math.max(bound, exact.bound) };
  return { best, cost, bound: Math.max(bound, Math.min(exact.bound, cost)) };
}

function solveLarge(run: Run): Found {
  const { problem, pinned, places, options, elapsed } = run;
  const groups = equalBays(problem);
  const { highs, seconds } = options;
  const relaxed = relaxation({ problem, pinned, places, groups }, highs, left(options, elapsed()));
  let bound = cheapest(problem, places, pinned);
  if (!relaxed) {
    const best = build(run, 1);
    return { best, cost: costOf(problem, best), bound };
  }
  bound = Math.max(bound, relaxed.bound);
  run.tell(Number.POSITIVE_INFINITY, bound);
  const narrow = leastReduced(places, relaxed, NARROW);
  const rough = roughPlan({ problem, pinned, places: narrow, groups }, highs, left(options, elapsed()) * 0.4) ?? [];
  run.tell(Number.POSITIVE_INFINITY, bound);
  const board = build(run, 0.5, rough);
  run.tell(costOf(problem, board), bound);
  const search: Search = { problem, board, places, free: new Set(run.free), stop: () => false };
  const from = elapsed();
  const until = from + (seconds - from) * SEARCH_SHARE;
  const found = rebuild(search, {
    scarce: byReducedCost(places, relaxed),
    used: () => (elapsed() - from) / Math.max(1e-3, until - from),
    enough: bound / (1 - GOOD_ENOUGH),
    tell: (cost) => run.tell(cost, bound),
  });
  return polish(run, { ...found, bound }, relaxed);
}

/** The exact model over the choices that could still be part of a better plan, or the likeliest of them. */
function polish(run: Run, found: Found, relaxed: Relaxation): Found {
  const { problem, pinned, places, options, elapsed } = run;
  const { best, cost, bound } = found;
  if (cost - bound <= TOLERANCE || elapsed() >= options.seconds) return found;
  const open = places.map((list, demand) =>
    list.filter((place) => relaxed.reduced(place) <= cost - bound + TOLERANCE || best.placed[demand] === place),
  );
  const complete = open.reduce((sum, list) => sum + list.length, 0) <= SMALL;
  const chosen = complete ? open : withPlaced(leastReduced(open, relaxed, NARROW), best);
  const parts = { problem, pinned, places: chosen, groups: singleBays(problem) };
  const exact = solveExact(parts, best, { highs: options.highs, seconds: left(options, elapsed()), tell: run.tell });
  if (!exact) return found;
  const better = exact.cost < cost - TOLERANCE;
  // What the reduced costs ruled out cannot beat the plan that they were held against.
  const proven = complete ? Math.max(bound, Math.min(exact.bound, cost)) : bound;
  return { best: better ? exact.board : best, cost: better ? exact.cost : cost, bound: proven };
}

function byReducedCost(places: Run['places'], relaxed: Relaxation): Place[][] {
  return places.map((list) => {
    const costs = new Map(list.map((place) => [place, relaxed.reduced(place)]));
    return [...list].sort((a, b) => costs.get(a)! - costs.get(b)! || a.cost - b.cost);
  });
}

/** So many places in all, those of least reduced cost. */
function leastReduced(places: Run['places'], relaxed: Relaxation, most: number): Place[][] {
  const order = places.flat().map((place) => relaxed.reduced(place));
  const limit = order.sort((a, b) => a - b)[most] ?? Infinity;
  return places.map((list) => list.filter((place) => relaxed.reduced(place) <= limit));
}

const withPlaced = (places: readonly (readonly Place[])[], board: Board): Place[][] =>
  places.map((list, demand) => {
    const now = board.placed[demand];
    return now && !list.includes(now) ? [...list, now].sort((a, b) => a.cost - b.cost) : [...list];
  });

const left = ({ seconds }: PlanOptions, used: number): number => Math.max(0.1, seconds - used);

/** A plan by insertion and moves. @param share of the time that may be used by then @param first places to try first */
function build(run: Run, share: number, first: readonly Place[] = []): Board {
  const { problem, pinned, places, free, elapsed, options } = run;
  const board = boardWithPins(problem, pinned);
  const search: Search = {
    problem,
    board,
    places,
    free: new Set(free),
    stop: () => elapsed() > options.seconds * share,
  };
  for (const place of first) if (!board.placed[place.demand] && board.fits(place)) board.put(place);
  insertAll(search, urgentFirst(search));
  improve(search);
  return board;
}

export function boardWithPins(problem: PlanProblem, pinned: Pinned): Board {
  const board = new Board(problem);
  const disputed = new Set(pinned.conflicts.map(({ demand }) => demand));
  for (const place of pinned.places) {
    if (disputed.has(place.demand)) board.putDisputed(place);
    else board.put(place);
  }
  return board;
}

/** Every demand at its cheapest place, as if it were alone: a bound, if a weak one. */
function cheapest(problem: PlanProblem, places: readonly (readonly Place[])[], pinned: Pinned): number {
  const held = new Map(pinned.places.map((place) => [place.demand, place.cost]));
  return places.reduce(
    (sum, list, demand) => sum + (held.get(demand) ?? list[0]?.cost ?? costLeftOut(problem, problem.demands[demand]!)),
    0,
  );
}
