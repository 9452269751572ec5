import { median } from './descriptive.js';

/** Residuals within this many robust standard deviations keep full weight (Huber's usual 1.345). */
const HUBER_K = 1.345;
/** Makes the median absolute deviation of a normal distribution its standard deviation. */
const MAD_TO_SD = 1.4826;
const ROUNDS = 20;

export interface RobustFit {
  coefficients: number[];
  /** Robust standard deviation of the residuals. */
  scale: number;
}

/** Standard deviation from the median absolute deviation about 0. */
export const robustScale = (residuals: readonly number[]): number => MAD_TO_SD * median(residuals.map(Math.abs));

/**
 * Linear regression by Huber's weights (iteratively reweighted least squares) with a little ridge, so that columns that do
 * not vary get coefficient 0 instead of failing. Rows that stand far off lose weight: a few sick vehicles do not bend what
 * is expected of the healthy ones.
 * @param rows predictors, one row an observation, the first column 1 for the intercept; @param values same length
 */
export function huberRegression(
  rows: readonly (readonly number[])[],
  values: readonly number[],
  ridge = 1e-6,
): RobustFit {
  let coefficients = weightedLeastSquares(
    rows,
    values,
    rows.map(() => 1),
    ridge,
  );
  let scale = 0;
  for (let round = 0; round < ROUNDS; round++) {
    const residuals = rows.map((row, index) => values[index]! - predict(coefficients, row));
    scale = robustScale(residuals);
    const limit = HUBER_K * Math.max(scale, 1e-9);
    const weights = residuals.map((residual) => Math.min(1, limit / Math.max(Math.abs(residual), 1e-12)));
    coefficients = weightedLeastSquares(rows, values, weights, ridge);
  }
  return { coefficients, scale };
}

export const predict = (coefficients: readonly number[], row: readonly number[]): number =>
  coefficients.reduce((sum, coefficient, index) => sum + coefficient * row[index]!, 0);

function weightedLeastSquares(
  rows: readonly (readonly number[])[],
  values: readonly number[],
  weights: readonly number[],
  ridge: number,
): number[] {
  const size = rows[0]?.length ?? 0;
  const matrix = Array.from({ length: size }, () => new Array<number>(size + 1).fill(0));
  rows.forEach((row, index) => {
    const weight = weights[index]!;
    for (let a = 0; a < size; a++) {
      for (let b = 0; b < size; b++) matrix[a]![b]! += weight * row[a]! * row[b]!;
      matrix[a]![size]! += weight * row[a]! * values[index]!;
    }
  });
  for (let a = 1; a < size; a++) matrix[a]![a]! += ridge * Math.max(1, matrix[0]![0]!);
  return solve(matrix);
}

/** Gauss-Jordan with row pivoting on an augmented matrix; a pivot of 0 gives coefficient 0. */
function solve(matrix: number[][]): number[] {
  const size = matrix.length;
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let row = column + 1; row < size; row++)
      if (Math.abs(matrix[row]![column]!) > Math.abs(matrix[pivot]![column]!)) pivot = row;
    [matrix[column], matrix[pivot]] = [matrix[pivot]!, matrix[column]!];
    const divisor = matrix[column]![column]!;
    if (Math.abs(divisor) < 1e-12) continue;
    for (let index = column; index <= size; index++) matrix[column]![index]! /= divisor;
    for (let row = 0; row < size; row++) {
      const factor = row === column ? 0 : matrix[row]![column]!;
      for (let index = column; factor !== 0 && index <= size; index++)
        matrix[row]![index]! -= factor * matrix[column]![index]!;
    }
  }
  return matrix.map((row) => row[size]!);
}
