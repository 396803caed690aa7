import { choleskyInPlace, solveLower } from './cholesky.ts';

/** Turns observations with a known covariance into ones that are independent and of unit variance, by its Cholesky factor. */
export class Whitener {
  readonly #factor: Float64Array;
  readonly #n: number;

  /**
   * @param covariance row-major, n x n; kept
   * @throws ESTIMATION_INPUT where it is not positive definite
   */
  constructor(covariance: Float64Array, n: number) {
    this.#factor = covariance.slice();
    this.#n = n;
    choleskyInPlace(this.#factor, n);
  }

  /** L^-1 x. */
  apply(column: ArrayLike<number>): Float64Array {
    const out = Float64Array.from(column);
    solveLower(this.#factor, this.#n, out);
    return out;
  }
}
