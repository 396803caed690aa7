import { fail } from '@stillmark/problems';
import { symmetricEigen } from './linear-algebra.ts';

/** Eigenvalues below this part of the largest belong to the defect of the datum. */
const leastEigen = 1e-10;

export interface Congruency {
  /** d' Q^+ d. */
  readonly quadratic: number;
  /** Rank of Q: coordinates less the defect of the datum. */
  readonly rank: number;
}

/**
 * The quadratic form of the congruency test, d' Q^+ d with the pseudo-inverse of a covariance that has a defect: over its rank and the
 * variance factor it is an F statistic where nothing moved (Pelzer 1971; Niemeier 1985).
 *
 * @param difference of the coordinates of two epochs, in one datum
 * @param covariance of it, n x n, row-major, in the same datum
 * @throws ESTIMATION_INPUT where the covariance is zero or has a negative eigenvalue
 */
export function congruency(difference: ArrayLike<number>, covariance: Float64Array): Congruency {
  const n = difference.length;
  const { values, vectors } = symmetricEigen(covariance, n);
  const largest = values[n - 1]!;
  if (!(largest > 0) || values[0]! < -1e-8 * largest)
    fail('ESTIMATION_INPUT', 'the covariance of the differences is not positive semi-definite');
  let [quadratic, rank] = [0, 0];
  for (let k = 0; k < n; k++) {
    if (values[k]! <= leastEigen * largest) continue;
    let along = 0;
    for (let i = 0; i < n; i++) along += vectors[k * n + i]! * difference[i]!;
    quadratic += (along * along) / values[k]!;
    rank++;
  }
  return { quadratic, rank };
}

/**
 * The S-transformation onto the datum of weighted points, for translations of one axis: S = I - 1 (w'1)^-1 w', so that the weighted mean
 * of the differences is zero (Baarda 1973).
 *
 * @param weights of the points, not negative; those that define the datum are not zero
 * @returns n x n, row-major
 * @throws ESTIMATION_INPUT where no point defines the datum
 */
export function translationDatum(weights: ArrayLike<number>): Float64Array {
  const n = weights.length;
  let sum = 0;
  for (let i = 0; i < n; i++) sum += weights[i]!;
  if (!(sum > 0)) fail('ESTIMATION_INPUT', 'no point defines the datum');
  const s = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) s[i * n + j] = (i === j ? 1 : 0) - weights[j]! / sum;
  return s;
}

/** S C S'. */
export function transformed(s: Float64Array, covariance: Float64Array, n: number): Float64Array {
  const half = new Float64Array(n * n);
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let k = 0; k < n; k++) {
      const v = s[i * n + k]!;
      if (v !== 0) for (let j = 0; j < n; j++) half[i * n + j]! += v * covariance[k * n + j]!;
    }
  for (let i = 0; i < n; i++)
    for (let k = 0; k < n; k++) {
      const v = half[i * n + k]!;
      if (v !== 0) for (let j = 0; j < n; j++) out[i * n + j]! += v * s[j * n + k]!;
    }
  return out;
}

const rounds = 200;
/** Steps of the weights end where no difference changes by more than this, in the unit of the differences. */
const rest = 1e-9;

/**
 * Iterative weighted similarity transformation for translations (Chen 1983; Chen, Chrzanowski and Secord 1990): points weigh the inverse of the length
 * of their own difference, so that the sum of the lengths is least, and few points that moved do not carry the others away.
 *
 * @param differences of each point, a row of coordinates a point
 * @param guard added to the lengths, in their unit: what is below cannot be told from zero
 * @returns the differences in the datum that is found, in which most of the points that stand still are near zero
 */
export function iterativeDatum(differences: readonly (readonly number[])[], guard: number): number[][] {
  const dimension = differences[0]?.length ?? 0;
  let current = differences.map((row) => [...row]);
  for (let round = 0; round < rounds; round++) {
    const weights = current.map((row) => 1 / (Math.hypot(...row) + guard));
    const sum = weights.reduce((s, w) => s + w, 0);
    const shift = Array.from(
      { length: dimension },
      (_, k) => current.reduce((s, row, i) => s + weights[i]! * row[k]!, 0) / sum,
    );
    current = current.map((row) => row.map((v, k) => v - shift[k]!));
    if (Math.hypot(...shift) < rest) break;
  }
  return current;
}
