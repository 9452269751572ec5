/** Lanczos approximation with g = 7 and nine terms; relative error below 1e-13 for x > 0. */
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
] as const;

/** Natural logarithm of the gamma function, x > 0. */
export function logGamma(x: number): number {
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const shifted = x - 1;
  const base = shifted + 7.5;
  const series = LANCZOS.slice(1).reduce<number>((sum, term, index) => sum + term / (shifted + index + 1), LANCZOS[0]);
  return 0.5 * Math.log(2 * Math.PI) + (shifted + 0.5) * Math.log(base) - base + Math.log(series);
}

/**
 * Regularised incomplete beta function I_x(a, b): the chance that a Beta(a, b) variable is at most x. DLMF 8.17.22, the
 * continued fraction, evaluated by Lentz's method.
 * @param x clamped to 0..1; @throws RangeError when a or b is not positive
 */
export function betaCdf(x: number, a: number, b: number): number {
  if (!(a > 0) || !(b > 0)) throw new RangeError(`a ${a} and b ${b} of a beta distribution must be above 0`);
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaCdf(1 - x, b, a);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  return front / continuedFraction(x, a, b);
}

const TINY = 1e-300;
const MOST_TERMS = 10_000;

/** The denominator 1 + d1/(1 + d2/(1 + …)) of DLMF 8.17.22. */
function continuedFraction(x: number, a: number, b: number): number {
  let value = 1;
  let upper = 1;
  let lower = 0;
  for (let term = 1; term <= MOST_TERMS; term++) {
    const m = Math.floor(term / 2);
    const d =
      term % 2 === 0
        ? (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
        : (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    lower = 1 / awayFromZero(1 + d * lower);
    upper = awayFromZero(1 + d / upper);
    value *= upper * lower;
    if (Math.abs(upper * lower - 1) < 1e-15) break;
  }
  return value;
}

const awayFromZero = (value: number): number => (Math.abs(value) < TINY ? TINY : value);

/** Value below which a Beta(a, b) variable lies with chance p; by bisection, to 1e-12. */
export function betaQuantile(p: number, a: number, b: number): number {
  let low = 0;
  let high = 1;
  while (high - low > 1e-12) {
    const middle = (low + high) / 2;
    if (betaCdf(middle, a, b) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
