import { fail } from '@stillmark/problems';
import { EigenvalueDecomposition, Matrix, solve } from 'ml-matrix';

/** Eigenvalues in ascending order, and the eigenvector of each as a row of `vectors` (row-major, n x n). */
export interface SymmetricEigen {
  readonly values: Float64Array;
  readonly vectors: Float64Array;
}

/** Eigen-decomposition of a symmetric matrix given row-major. */
export function symmetricEigen(matrix: Float64Array, n: number): SymmetricEigen {
  const evd = new EigenvalueDecomposition(Matrix.from1DArray(n, n, matrix), { assumeSymmetric: true });
  const order = evd.realEigenvalues
    .map((_, i) => i)
    .sort((a, b) => evd.realEigenvalues[a]! - evd.realEigenvalues[b]!);
  const values = new Float64Array(n);
  const vectors = new Float64Array(n * n);
  order.forEach((source, row) => {
    values[row] = evd.realEigenvalues[source]!;
    for (let k = 0; k < n; k++) vectors[row * n + k] = evd.eigenvectorMatrix.get(k, source);
  });
  return { values, vectors };
}

/**
 * I - X (X'X)^-1 X' for the n x p design X (row-major): what is left of observations after the fit of X.
 *
 * @throws ESTIMATION_INPUT where the columns of X are not independent to 1e-10 of the largest singular value.
 */
export function residualProjector(design: Float64Array, n: number, p: number): Float64Array {
  const x = Matrix.from1DArray(n, p, design);
  const normal = x.transpose().mmul(x);
  const { values } = symmetricEigen(Float64Array.from(normal.to1DArray()), p);
  if (!(values[0]! > 1e-20 * values[p - 1]!))
    fail('ESTIMATION_INPUT', 'the terms to be fitted cannot be told apart by these data');
  const fitted = x.mmul(solve(normal, x.transpose()));
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) out[i * n + j] = (i === j ? 1 : 0) - fitted.get(i, j);
  return out;
}

/** A B for row-major n x n matrices. */
export function multiply(a: Float64Array, b: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < n; k++) {
      const aik = a[i * n + k]!;
      if (aik === 0) continue;
      for (let j = 0; j < n; j++) out[i * n + j]! += aik * b[k * n + j]!;
    }
  }
  return out;
}
