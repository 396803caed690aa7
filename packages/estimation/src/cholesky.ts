import { fail } from '@stillmark/problems';

/**
 * Lower Cholesky factor of a symmetric matrix, row-major, in its place; what stood above the diagonal is left as it was.
 *
 * Own code, since ml-matrix copies into arrays of arrays, which at some hundred gaps costs more than the factor itself.
 *
 * @throws ESTIMATION_INPUT where the matrix is not positive definite
 */
export function choleskyInPlace(matrix: Float64Array, n: number): void {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j]!;
      for (let k = 0; k < j; k++) sum -= matrix[i * n + k]! * matrix[j * n + k]!;
      if (j < i) matrix[i * n + j] = sum / matrix[j * n + j]!;
      else {
        if (!(sum > 0)) fail('ESTIMATION_INPUT', 'the terms to be fitted cannot be told apart by these data');
        matrix[i * n + i] = Math.sqrt(sum);
      }
    }
  }
}

/** Solves L x = b in the place of b, for a lower triangle in a row-major matrix. */
export function solveLower(lower: Float64Array, n: number, b: Float64Array): void {
  for (let i = 0; i < n; i++) {
    let sum = b[i]!;
    for (let k = 0; k < i; k++) sum -= lower[i * n + k]! * b[k]!;
    b[i] = sum / lower[i * n + i]!;
  }
}
