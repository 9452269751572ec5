export interface GammaPrior {
  /** Shape: events already believed in. */
  alpha: number;
  /** Rate: exposure already believed in, in the unit of the data's exposure. */
  beta: number;
}

/**
 * Posterior of a Poisson rate under a Gamma prior: Gamma(alpha + events, beta + exposure).
 * @param counts events, one or more observations; @param exposure total exposure behind them (hours, kilometres, …)
 * @throws RangeError when exposure or beta is negative or both are 0
 */
export function gammaPoissonPosterior(
  prior: GammaPrior,
  counts: readonly number[],
  exposure: number,
): GammaPrior & { mean: number } {
  const alpha = prior.alpha + counts.reduce((sum, count) => sum + count, 0);
  const beta = prior.beta + exposure;
  if (!(exposure >= 0) || !(prior.beta >= 0) || beta === 0)
    throw new RangeError(`exposure ${exposure} and beta ${prior.beta} must not be negative, nor both 0`);
  return { alpha, beta, mean: alpha / beta };
}

export interface MarshallMoments {
  /** Pooled rate, events per exposure. */
  m: number;
  /** Exposure-weighted variance of the raw rates. */
  s2: number;
  /** Variance between units, after the Poisson part is taken off; never below 0. */
  A: number;
  /** Gamma prior that has mean m and variance A; null when A is 0 (all units are then given the pooled rate). */
  alpha: number | null;
  beta: number | null;
}

/** The sums that the moment estimator needs, so that one unit can be left out without a second pass. */
export interface RateSums {
  units: number;
  events: number;
  exposure: number;
  /** Sum of events² / exposure. */
  eventsSquaredPerExposure: number;
}

/** Global moment estimator of Marshall (1991), "Mapping disease and mortality rates using empirical Bayes estimators". */
export function marshallMoments(sums: RateSums): MarshallMoments {
  if (!(sums.exposure > 0) || sums.units < 1) return { m: 0, s2: 0, A: 0, alpha: null, beta: null };
  const m = sums.events / sums.exposure;
  // Clamped: the difference of two nearly equal sums may come out a hair below 0.
  const s2 = Math.max(0, sums.eventsSquaredPerExposure / sums.exposure - m * m);
  const A = Math.max(0, s2 - m / (sums.exposure / sums.units));
  if (A === 0 || m === 0) return { m, s2, A, alpha: null, beta: null };
  return { m, s2, A, alpha: (m * m) / A, beta: m / A };
}

/**
 * Empirical Bayes rates: each unit's rate shrunk toward the pooled one, the more the smaller its exposure.
 * @param events y[i], @param exposures e[i] > 0, same length
 */
export function empiricalBayesRates(
  events: readonly number[],
  exposures: readonly number[],
): MarshallMoments & { theta: number[] } {
  const sums: RateSums = { units: events.length, events: 0, exposure: 0, eventsSquaredPerExposure: 0 };
  events.forEach((count, index) => {
    const exposure = exposures[index] ?? 0;
    sums.events += count;
    sums.exposure += exposure;
    sums.eventsSquaredPerExposure += (count * count) / exposure;
  });
  const moments = marshallMoments(sums);
  const theta = events.map((count, index) => {
    if (moments.alpha === null || moments.beta === null) return moments.m;
    return gammaPoissonPosterior({ alpha: moments.alpha, beta: moments.beta }, [count], exposures[index] ?? 0).mean;
  });
  return { ...moments, theta };
}
