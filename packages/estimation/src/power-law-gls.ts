import { fail } from '@stillmark/problems';
import { choleskyInPlace, solveLower } from './cholesky.ts';
import { StructuredCholesky } from './structured-cholesky.ts';

/** What generalised least squares gives of several series with one design, under one covariance up to a scale. */
export interface GlsFit {
  /** ln |C| of the observations. */
  readonly logDeterminant: number;
  /** ln |X' C^-1 X|, of the design as it was given. */
  readonly logInformation: number;
  /** (X' C^-1 X)^-1, p x p, row-major: the covariance of the coefficients where the scale is one. */
  readonly covariance: Float64Array;
  /** Coefficients of each series. */
  readonly coefficients: readonly Float64Array[];
  /** r' C^-1 r of the residuals of each series. */
  readonly squares: readonly number[];
}

/** Terms whose information is less than this part of their own are not told apart by the data. */
const leastIndependent = 1e-10;

/**
 * Generalised least squares under white plus power-law noise, C = white I + power T T' with T the lower triangular Toeplitz matrix of
 * Hosking's (1981) filter, for observations on a regular grid with gaps. Exact, in a number of steps that grows with the square of
 * the length.
 *
 * On the whole grid C has displacement rank two, so that its Cholesky factor comes column by column
 * ({@link StructuredCholesky}). Grid points without an observation are taken out by the identities of the partitioned inverse:
 * with B = C^-1, C_oo^-1 = B_oo - B_om B_mm^-1 B_mo and |C_oo| = |C| |B_mm|. B has displacement rank two as well (Kailath and
 * Sayed 1995, SIAM Review 37, 297-386), so that B_mm costs no more than the rest.
 */
export class PowerLawGls {
  readonly #slots: Int32Array;
  readonly #missing: Int32Array;
  readonly #n: number;
  readonly #p: number;
  /** Columns of the design on the whole grid, zero where nothing was observed, each divided by its size. */
  readonly #design: readonly Float64Array[];
  readonly #sizes: Float64Array;
  readonly #factor: StructuredCholesky;

  /**
   * @param slots places of the observations on the grid, ascending
   * @param design n x p, row-major, a row an observation
   * @param response impulse response of the power-law noise, at least as long as the grid
   * @throws ESTIMATION_INPUT for fewer observations than p + 1
   */
  constructor(slots: Int32Array, design: Float64Array, p: number, response: Float64Array) {
    const n = slots.length;
    if (n < p + 1) fail('ESTIMATION_INPUT', `${n} observations are too few for ${p} terms`);
    const first = slots[0]!;
    const length = slots[n - 1]! - first + 1;
    this.#slots = slots.map((slot) => slot - first);
    this.#n = n;
    this.#p = p;
    const there = new Uint8Array(length);
    for (const slot of this.#slots) there[slot] = 1;
    const missing: number[] = [];
    for (let i = 0; i < length; i++) if (!there[i]) missing.push(i);
    this.#missing = Int32Array.from(missing);
    this.#sizes = new Float64Array(p);
    this.#design = Array.from({ length: p }, (_, j) => {
      const column = new Float64Array(length);
      let size = 0;
      for (let i = 0; i < n; i++) size = Math.max(size, Math.abs(design[i * p + j]!));
      const divisor = size || 1;
      this.#sizes[j] = divisor;
      for (let i = 0; i < n; i++) column[this.#slots[i]!] = design[i * p + j]! / divisor;
      return column;
    });
    this.#factor = new StructuredCholesky(response.subarray(0, length));
  }

  /** Observations less terms. */
  get degreesOfFreedom(): number {
    return this.#n - this.#p;
  }

  /**
   * @param white variance of the white noise, of one observation
   * @param power multiplies T T'
   * @param series as many values as there are slots, each
   * @throws ESTIMATION_INPUT where the terms cannot be told apart, or the covariance is not positive definite
   */
  fit(white: number, power: number, series: readonly Float64Array[]): GlsFit {
    const p = this.#p;
    const q = p + series.length;
    const length = this.#factor.length;
    const columns = [
      ...this.#design.map((column) => column.slice()),
      ...series.map((values) => {
        const column = new Float64Array(length);
        for (let i = 0; i < this.#n; i++) column[this.#slots[i]!] = values[i]!;
        return column;
      }),
    ];
    const { logDeterminant } = this.#factor.factorise(white, power, columns);
    const products = gram(columns);
    let logMissing = 0;
    const k = this.#missing.length;
    if (k > 0) {
      this.#factor.backward(columns);
      const block = this.#factor.inverseBlock(this.#missing, white, power);
      choleskyInPlace(block, k);
      for (let i = 0; i < k; i++) logMissing += 2 * Math.log(block[i * k + i]!);
      const taken = columns.map((column) => {
        const rows = Float64Array.from(this.#missing, (slot) => column[slot]!);
        solveLower(block, k, rows);
        return rows;
      });
      const correction = gram(taken);
      for (let i = 0; i < q * q; i++) products[i]! -= correction[i]!;
    }
    return { ...this.#solve(products, series.length), logDeterminant: logDeterminant + logMissing };
  }

  /** Coefficients and squares from the products of design and series under C^-1. */
  #solve(products: Float64Array, m: number): Omit<GlsFit, 'logDeterminant'> {
    const p = this.#p;
    const q = p + m;
    const information = new Float64Array(p * p);
    for (let i = 0; i < p; i++) for (let j = 0; j < p; j++) information[i * p + j] = products[i * q + j]!;
    const own = Float64Array.from({ length: p }, (_, i) => information[i * p + i]!);
    choleskyInPlace(information, p);
    let logInformation = 0;
    for (let i = 0; i < p; i++) {
      const pivot = information[i * p + i]!;
      if (!(pivot * pivot > leastIndependent * own[i]!))
        fail('ESTIMATION_INPUT', 'the terms to be fitted cannot be told apart by these data');
      logInformation += 2 * Math.log(pivot * this.#sizes[i]!);
    }
    // Rows of the inverse factor give the covariance; scaled columns go back to the size they had.
    const inverse = Array.from({ length: p }, (_, j) => {
      const unit = new Float64Array(p);
      unit[j] = 1;
      solveLower(information, p, unit);
      return unit;
    });
    const covariance = new Float64Array(p * p);
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) {
        let sum = 0;
        for (let k = 0; k < p; k++) sum += inverse[i]![k]! * inverse[j]![k]!;
        covariance[i * p + j] = sum / (this.#sizes[i]! * this.#sizes[j]!);
      }
    const coefficients: Float64Array[] = [];
    const squares: number[] = [];
    for (let s = 0; s < m; s++) {
      const right = Float64Array.from({ length: p }, (_, i) => products[i * q + p + s]!);
      solveLower(information, p, right);
      squares.push(products[(p + s) * q + p + s]! - right.reduce((sum, v) => sum + v * v, 0));
      coefficients.push(
        Float64Array.from({ length: p }, (_, i) => {
          let sum = 0;
          for (let k = 0; k < p; k++) sum += inverse[i]![k]! * right[k]!;
          return sum / this.#sizes[i]!;
        }),
      );
    }
    return { logInformation, covariance, coefficients, squares };
  }
}

/** All products of columns with each other, row-major. */
function gram(columns: readonly Float64Array[]): Float64Array {
  const q = columns.length;
  const out = new Float64Array(q * q);
  for (let i = 0; i < q; i++)
    for (let j = 0; j <= i; j++) {
      const [a, b] = [columns[i]!, columns[j]!];
      let sum = 0;
      for (let k = 0; k < a.length; k++) sum += a[k]! * b[k]!;
      out[i * q + j] = sum;
      out[j * q + i] = sum;
    }
  return out;
}
