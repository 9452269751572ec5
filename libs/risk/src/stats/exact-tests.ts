import { betaCdf, logGamma } from './beta.js';

/** Chance of `successes` or more in `trials` independent trials of chance p each: I_p(k, n - k + 1), DLMF 8.17.5. */
export function binomialAtLeast(successes: number, trials: number, p: number): number {
  if (successes <= 0) return 1;
  if (successes > trials) return 0;
  return betaCdf(p, successes, trials - successes + 1);
}

/**
 * Fisher's exact test, one-sided: chance of `both` or more with both properties, when `first` of `all` have the one and
 * `second` have the other and the two have nothing to do with each other (hypergeometric tail).
 */
export function fisherAtLeast({
  both,
  first,
  second,
  all,
}: {
  both: number;
  first: number;
  second: number;
  all: number;
}): number {
  const chosen = logChoose(all, second);
  let tail = 0;
  for (let count = Math.max(both, first + second - all); count <= Math.min(first, second); count++)
    tail += Math.exp(logChoose(first, count) + logChoose(all - first, second - count) - chosen);
  return Math.min(1, tail);
}

const logChoose = (of: number, taken: number): number =>
  logGamma(of + 1) - logGamma(taken + 1) - logGamma(of - taken + 1);

/**
 * Benjamini and Hochberg (1995): the p-values of many tests, raised so that calling those at or below q makes a share of at
 * most q of the calls false on average. Same order as given.
 */
export function benjaminiHochberg(values: readonly number[]): number[] {
  const order = values.map((p, index) => ({ p, index })).sort((a, b) => b.p - a.p);
  const adjusted = new Array<number>(values.length);
  let least = 1;
  order.forEach(({ p, index }, position) => {
    least = Math.min(least, (p * values.length) / (values.length - position));
    adjusted[index] = least;
  });
  return adjusted;
}
