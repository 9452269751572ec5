import { costLeftOut } from '../model/costs.js';
import type { Place } from '../model/problem.js';
import { Board } from './board.js';
import { costOf, type Search } from './search.js';

export interface RebuildOptions {
  /** Share of the time that is used, 0..1; 1 ends the search. */
  used: () => number;
  /** The places of each demand in the order of what they cost the whole plan (reduced cost), where that is known. */
  scarce?: readonly (readonly Place[])[];
  /** A plan of this cost is good enough. */
  enough: number;
  tell: (cost: number) => void;
}

/** Visits that are taken out at once, at most. */
const MOST = 14;
/** Worse plans are followed in the beginning: this share of the cost, falling to nothing. */
const WARMTH = 0.0015;
/** A place that fits is passed over now and then, so that the same choice does not come out each time. */
const BLINK = 0.03;
const SCARCE_SHARE = 0.7;
const TELL_EVERY = 256;
const CLOCK_EVERY = 16;

/**
 * Takes some visits out, from where one of them would rather be, puts them back cheapest first in a new order, and keeps the
 * result when it costs less (or, while it is early, hardly more). The plan fits at every moment.
 * @returns the cheapest plan that was seen
 */
export function rebuild(search: Search, { used, enough, tell, scarce }: RebuildOptions): { best: Board; cost: number } {
  const { problem, board, places } = search;
  const free = [...search.free].filter((demand) => places[demand]!.length > 0);
  const random = randomFrom(free.length * 31 + problem.days.length);
  const leftOut = problem.demands.map((demand) => costLeftOut(problem, demand));
  const priceOf = (demand: number) => board.placed[demand]?.cost ?? leftOut[demand]!;
  let cost = costOf(problem, board);
  let best = { cost, placed: [...board.placed] };
  let told = cost;
  let share = 0;
  for (let round = 0; free.length > 0; round += 1) {
    // The clock costs more than a round.
    if (round % CLOCK_EVERY === 0) share = used();
    if (share >= 1 || best.cost <= enough) break;
    const out = ruin({ search, free, random, priceOf });
    const before = out.map((demand) => board.take(demand));
    const was = out.reduce((sum, demand, index) => sum + (before[index]?.cost ?? leftOut[demand]!), 0);
    // By its own cost a visit takes the first free hour; by reduced cost it leaves scarce hours to those that need them.
    const lists = scarce && random() < SCARCE_SHARE ? scarce : places;
    for (const demand of order(search, out, random)) putBack(board, lists[demand]!, random);
    const now = out.reduce((sum, demand) => sum + priceOf(demand), 0);
    const slack = WARMTH * cost * Math.max(0, 1 - share * 1.15) ** 2 * -Math.log(1 - random());
    if (now - was <= slack) cost += now - was;
    else restore(board, out, before);
    if (cost < best.cost - 1e-7) best = { cost, placed: [...board.placed] };
    if (round % TELL_EVERY === 0 && best.cost < told) tell((told = best.cost));
  }
  return { best: boardLike(board, best.placed), cost: best.cost };
}

interface Ruin {
  search: Search;
  free: readonly number[];
  random: () => number;
  priceOf: (demand: number) => number;
}

/** One visit that could be cheaper, those who stand in one of its better places, and some from the days around. */
function ruin({ search, free, random, priceOf }: Ruin): number[] {
  const { board, places } = search;
  const lead = dearest(free, random, (demand) => priceOf(demand) - places[demand]![0]!.cost);
  const out = new Set([lead]);
  const list = places[lead]!;
  const better = list.findIndex(({ cost }) => cost >= priceOf(lead));
  const wish = list[Math.floor(random() ** 2 * (better < 0 ? list.length : Math.max(1, better)))]!;
  takeFrom(board.visitsIn(wish.bay, wish.day), out, search, 2 + Math.floor(random() * 4));
  const days = search.problem.days.length;
  const bays = search.problem.bays.length;
  for (let tries = 0; tries < 3 && out.size < MOST; tries += 1) {
    const day = Math.min(days - 1, Math.max(0, wish.day + Math.round((random() - 0.4) * 6)));
    const bay = random() < 0.5 ? wish.bay : Math.floor(random() * bays);
    takeFrom(board.visitsIn(bay, day), out, search, 1 + Math.floor(random() * 3));
  }
  return [...out];

  function takeFrom(visits: readonly Place[], into: Set<number>, { free: movable }: Search, most: number): void {
    const offset = Math.floor(random() * visits.length);
    for (let index = 0; index < Math.min(most, visits.length); index += 1) {
      const { demand } = visits[(offset + index) % visits.length]!;
      if (into.size < MOST && movable.has(demand)) into.add(demand);
    }
  }
}

/** The dearest of a few that are drawn. */
function dearest(free: readonly number[], random: () => number, excess: (demand: number) => number): number {
  let found = free[Math.floor(random() * free.length)]!;
  const draws = random() < 0.3 ? 0 : 4;
  for (let draw = 0; draw < draws; draw += 1) {
    const other = free[Math.floor(random() * free.length)]!;
    if (excess(other) > excess(found)) found = other;
  }
  return found;
}

function order({ problem, places }: Search, out: readonly number[], random: () => number): number[] {
  const kind = Math.floor(random() * 4);
  const urgency = (demand: number) => {
    const list = places[demand]!;
    const later = list[Math.min(list.length - 1, 12)]!;
    return later.cost - list[0]!.cost;
  };
  const keys = new Map(
    out.map((demand) => {
      const { minutes, costPerDay } = problem.demands[demand]!;
      const key = [minutes * (0.7 + 0.6 * random()), urgency(demand) / minutes, costPerDay, random()][kind]!;
      return [demand, key] as const;
    }),
  );
  return [...out].sort((a, b) => keys.get(b)! - keys.get(a)!);
}

function putBack(board: Board, places: readonly Place[], random: () => number): void {
  for (const place of places)
    if (board.fits(place) && random() >= BLINK) {
      board.put(place);
      return;
    }
}

function restore(board: Board, out: readonly number[], before: readonly (Place | null)[]): void {
  for (const demand of out) board.take(demand);
  for (const place of before) if (place) board.put(place);
}

/** The board's pins stay as they are; its other places are those given. */
function boardLike(board: Board, placed: readonly (Place | null)[]): Board {
  for (const [demand, place] of board.placed.entries()) if (place !== placed[demand]) board.take(demand);
  for (const [demand, place] of placed.entries()) if (place && board.placed[demand] === null) board.put(place);
  return board;
}

/** Numbers in [0, 1), the same for the same seed (xorshift32, Marsaglia 2003). */
function randomFrom(seed: number): () => number {
  let state = (seed * 2_654_435_761) >>> 0 || 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 4_294_967_296;
  };
}
