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
    const columns = [...this.#design.map((column) => column.slice()), ...this.#onGrid(series)];
    const { logDeterminant, taken } = this.#whiten(white, power, columns);
    const products = gram(columns, columns);
    const q = columns.length;
    if (taken) gram(taken, taken).forEach((v, i) => (products[i]! -= v));
    return { ...this.#solve(products, q - this.#p), logDeterminant };
  }

  /**
   * What one more term would explain, for many candidates at once: of each series the improvement of r' C^-1 r, divided by its scale
   * (r' C^-1 r over the degrees of freedom of the fit without the candidate); and the size that the term would have.
   *
   * @returns a row for each candidate; a candidate that the terms explain already improves nothing
   * @throws ESTIMATION_INPUT as {@link fit}
   */
  scan(
    white: number,
    power: number,
    series: readonly Float64Array[],
    candidates: readonly Float64Array[],
  ): { readonly improvement: number[]; readonly size: number[]; readonly unitVariance: number }[] {
    const [p, m, c] = [this.#p, series.length, candidates.length];
    const columns = [
      ...this.#design.map((column) => column.slice()),
      ...this.#onGrid(series),
      ...this.#onGrid(candidates),
    ];
    const { taken } = this.#whiten(white, power, columns);
    const known = columns.slice(0, p + m);
    const products = gram(known, columns);
    if (taken) gram(taken.slice(0, p + m), taken).forEach((v, i) => (products[i]! -= v));
    const own = (k: number): number => square(columns[p + m + k]!) - (taken ? square(taken[p + m + k]!) : 0);
    const width = p + m + c;
    const information = new Float64Array(p * p);
    for (let i = 0; i < p; i++) for (let j = 0; j < p; j++) information[i * p + j] = products[i * width + j]!;
    choleskyInPlace(information, p);
    const explained = (column: number): Float64Array => {
      const right = Float64Array.from({ length: p }, (_, i) => products[i * width + column]!);
      solveLower(information, p, right);
      return right;
    };
    const ofSeries = series.map((_, s) => explained(p + s));
    const scales = ofSeries.map(
      (right, s) => (products[(p + s) * width + p + s]! - square(right)) / this.degreesOfFreedom,
    );
    return candidates.map((_, k) => {
      const right = explained(p + m + k);
      const norm = own(k) - square(right);
      const told = norm > leastIndependent * own(k);
      const cross = ofSeries.map((left, s) => products[(p + s) * width + p + m + k]! - dot(left, right));
      return {
        improvement: cross.map((v, s) => (told ? (v * v) / norm / scales[s]! : 0)),
        size: cross.map((v) => (told ? v / norm : 0)),
        unitVariance: told ? 1 / norm : Number.POSITIVE_INFINITY,
      };
    });
  }

  /** Values at the slots as columns of the whole grid, zero where nothing was observed. */
  #onGrid(series: readonly Float64Array[]): Float64Array[] {
    return series.map((values) => {
      const column = new Float64Array(this.#factor.length);
      for (let i = 0; i < this.#n; i++) column[this.#slots[i]!] = values[i]!;
      return column;
    });
  }

  /**
   * Columns in their place so that their products are those under C^-1 of the whole grid, and what of them belongs to the grid points
   * without an observation, whose products are to be taken off.
   */
  #whiten(
    white: number,
    power: number,
    columns: readonly Float64Array[],
  ): { logDeterminant: number; taken?: Float64Array[] } {
    const { logDeterminant } = this.#factor.factorise(white, power, columns);
    const k = this.#missing.length;
    if (k === 0) return { logDeterminant };
    const solved = columns.map((column) => column.slice());
    this.#factor.backward(solved);
    const block = this.#factor.inverseBlock(this.#missing, white, power);
    choleskyInPlace(block, k);
    let logMissing = 0;
    for (let i = 0; i < k; i++) logMissing += 2 * Math.log(block[i * k + i]!);
    const taken = solved.map((column) => {
      const rows = Float64Array.from(this.#missing, (slot) => column[slot]!);
      solveLower(block, k, rows);
      return rows;
    });
    return { logDeterminant: logDeterminant + logMissing, taken };
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

/** All products of some columns with others, row-major. */
function gram(rows: readonly Float64Array[], columns: readonly Float64Array[]): Float64Array {
  const out = new Float64Array(rows.length * columns.length);
  rows.forEach((row, i) => columns.forEach((column, j) => (out[i * columns.length + j] = dot(row, column))));
  return out;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k]! * b[k]!;
  return sum;
}

const square = (v: Float64Array): number => dot(v, v);
