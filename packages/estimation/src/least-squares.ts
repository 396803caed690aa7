import { fail } from '@stillmark/problems';
import { Matrix, QrDecomposition } from 'ml-matrix';

/** What ordinary (or weighted) least squares gives. */
export interface LeastSquares {
  readonly coefficients: Float64Array;
  /** (X' W X)^-1, p x p, row-major: times `variance` it is the covariance of the coefficients. */
  readonly cofactor: Float64Array;
  readonly residuals: Float64Array;
  /** Sum of the weighted squares of the residuals over the degrees of freedom; NaN where there are none. */
  readonly variance: number;
  readonly degreesOfFreedom: number;
}

/** Columns whose part that the others do not explain is smaller than this share of them are not told apart. */
const leastIndependent = 1e-13;

/**
 * Least squares by the QR decomposition of a design (Householder), which loses half as many digits as the normal equations where
 * columns are nearly dependent (Golub and Van Loan, Matrix Computations, section 5.3). Columns are brought to the same length first.
 * One decomposition serves every series with the same design.
 */
export class LeastSquaresDesign {
  readonly #design: Float64Array;
  readonly #p: number;
  readonly #n: number;
  readonly #roots: Float64Array | undefined;
  readonly #sizes: Float64Array;
  readonly #qr: QrDecomposition;
  #cofactor: Float64Array | undefined;

  /**
   * @param design n x p, row-major, a row an observation
   * @param weights of the observations, inverse variances up to a factor; all one unless given
   * @throws ESTIMATION_INPUT for fewer observations than terms, and where the terms cannot be told apart
   */
  constructor(design: Float64Array, p: number, weights?: Float64Array) {
    const n = design.length / p;
    if (n < p) fail('ESTIMATION_INPUT', `${n} observations are too few for ${p} terms`);
    this.#design = design;
    this.#p = p;
    this.#n = n;
    this.#roots = weights?.map(Math.sqrt);
    this.#sizes = Float64Array.from({ length: p }, (_, j) => {
      let sum = 0;
      for (let i = 0; i < n; i++) sum += (this.#root(i) * design[i * p + j]!) ** 2;
      return Math.sqrt(sum) || 1;
    });
    const x = new Matrix(n, p);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < p; j++) x.set(i, j, (this.#root(i) * design[i * p + j]!) / this.#sizes[j]!);
    this.#qr = new QrDecomposition(x);
    const r = this.#qr.upperTriangularMatrix;
    for (let j = 0; j < p; j++)
      if (!(Math.abs(r.get(j, j)) > leastIndependent * Math.max(1, Math.sqrt(n))))
        fail('ESTIMATION_INPUT', 'the terms to be fitted cannot be told apart by these data');
  }

  fit(values: Float64Array): LeastSquares {
    const [n, p] = [this.#n, this.#p];
    const y = new Matrix(n, 1);
    for (let i = 0; i < n; i++) y.set(i, 0, this.#root(i) * values[i]!);
    const scaled = this.#qr.solve(y);
    const coefficients = Float64Array.from({ length: p }, (_, j) => scaled.get(j, 0) / this.#sizes[j]!);
    let squares = 0;
    const residuals = Float64Array.from({ length: n }, (_, i) => {
      let residual = values[i]!;
      for (let j = 0; j < p; j++) residual -= this.#design[i * p + j]! * coefficients[j]!;
      squares += (this.#root(i) * residual) ** 2;
      return residual;
    });
    return {
      coefficients,
      cofactor: this.cofactor,
      residuals,
      variance: n > p ? squares / (n - p) : Number.NaN,
      degreesOfFreedom: n - p,
    };
  }

  /** (X' W X)^-1, p x p, row-major. */
  get cofactor(): Float64Array {
    if (this.#cofactor) return this.#cofactor;
    const p = this.#p;
    const inverse = upperInverse(this.#qr.upperTriangularMatrix, p);
    const out = new Float64Array(p * p);
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) {
        let sum = 0;
        for (let k = Math.max(i, j); k < p; k++) sum += inverse[i * p + k]! * inverse[j * p + k]!;
        out[i * p + j] = sum / (this.#sizes[i]! * this.#sizes[j]!);
      }
    this.#cofactor = out;
    return out;
  }

  #root(i: number): number {
    return this.#roots ? this.#roots[i]! : 1;
  }
}

/**
 * Least squares of one series.
 *
 * @throws ESTIMATION_INPUT as {@link LeastSquaresDesign}
 */
export function leastSquares(
  design: Float64Array,
  p: number,
  values: Float64Array,
  weights?: Float64Array,
): LeastSquares {
  return new LeastSquaresDesign(design, p, weights).fit(values);
}

/** Inverse of an upper triangular matrix, row-major. */
function upperInverse(r: Matrix, p: number): Float64Array {
  const out = new Float64Array(p * p);
  for (let j = 0; j < p; j++) {
    out[j * p + j] = 1 / r.get(j, j);
    for (let i = j - 1; i >= 0; i--) {
      let sum = 0;
      for (let k = i + 1; k <= j; k++) sum += r.get(i, k) * out[k * p + j]!;
      out[i * p + j] = -sum / r.get(i, i);
    }
  }
  return out;
}
