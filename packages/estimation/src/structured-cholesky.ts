import { fail } from '@stillmark/problems';

/**
 * Cholesky factor of C = white I + power T T' (T lower triangular Toeplitz) by the Schur algorithm.
 *
 * With Z the shift by one place, C - Z C Z' = white e1 e1' + power t t' (t the first column of T): two vectors generate C. Each step
 * turns them so that the second is zero in its first row, takes the first as a column of the factor, and shifts it. Only rotations
 * are used, so that the factor is as accurate as the one of a dense matrix. Source: Kailath and Sayed (1995), SIAM Review 37, 297-386,
 * section 1.3; Bos et al. (2013), J. Geodesy 87, 351-360 use the relative of it for stationary noise.
 */
export class StructuredCholesky {
  readonly length: number;
  readonly #response: Float64Array;
  /** Columns of the factor one after the other, each from its diagonal on. */
  #factor = new Float64Array(0);

  /** @param response first column of T */
  constructor(response: Float64Array) {
    this.length = response.length;
    this.#response = response;
  }

  /**
   * Makes the factor L, and solves L x = b for columns in their place on the way.
   *
   * @throws ESTIMATION_INPUT where the covariance is not positive definite
   */
  factorise(white: number, power: number, columns: readonly Float64Array[]): { logDeterminant: number } {
    const n = this.length;
    if (this.#factor.length === 0) this.#factor = new Float64Array((n * (n + 1)) / 2);
    const factor = this.#factor;
    const [rootWhite, rootPower] = [Math.sqrt(white), Math.sqrt(power)];
    const a = new Float64Array(n);
    a[0] = rootWhite;
    const b = this.#response.map((h) => rootPower * h);
    let logDeterminant = 0;
    for (let k = 0, at = 0; k < n; k++) {
      const g = Math.sqrt(a[k]! * a[k]! + b[k]! * b[k]!);
      if (!(g > 0)) fail('ESTIMATION_INPUT', 'the covariance is not positive definite');
      const c = a[k]! / g;
      const s = b[k]! / g;
      const start = at - k;
      // Turned from the end, so that the shift of the first needs no copy.
      let carried = 0;
      for (let i = k; i < n; i++) {
        const ai = a[i]!;
        const bi = b[i]!;
        const turned = c * ai + s * bi;
        b[i] = c * bi - s * ai;
        a[i] = carried;
        carried = turned;
        factor[start + i] = turned;
      }
      logDeterminant += 2 * Math.log(g);
      eliminate(factor, start, k, n, columns);
      at += n - k;
    }
    return { logDeterminant };
  }

  /** Solves L x = b for columns in their place, with the factor that was made last. */
  forward(columns: readonly Float64Array[]): void {
    const n = this.length;
    for (let k = 0, at = 0; k < n; at += n - k, k++) eliminate(this.#factor, at - k, k, n, columns);
  }

  /** Solves L' x = b for columns in their place: each column of the factor is fetched once for all of them. */
  backward(columns: readonly Float64Array[]): void {
    const n = this.length;
    const factor = this.#factor;
    for (let k = n - 1, at = factor.length - 1; k >= 0; k--, at -= n - k) {
      const start = at - k;
      const pivot = factor[at]!;
      let c = 0;
      for (; c + 1 < columns.length; c += 2) {
        const [one, two] = [columns[c]!, columns[c + 1]!];
        let first = one[k]!;
        let second = two[k]!;
        for (let i = k + 1; i < n; i++) {
          const l = factor[start + i]!;
          first -= l * one[i]!;
          second -= l * two[i]!;
        }
        one[k] = first / pivot;
        two[k] = second / pivot;
      }
      if (c === columns.length) continue;
      const one = columns[c]!;
      let sum = one[k]!;
      for (let i = k + 1; i < n; i++) sum -= factor[start + i]! * one[i]!;
      one[k] = sum / pivot;
    }
  }

  /**
   * The rows and columns `at` of B = C^-1, row-major.
   *
   * B - Z' B Z = H H' with two columns, made from the columns of B at both ends; an element of B is the sum of the products of H along
   * its diagonal. Where the noise is so white that the first column says nothing (the rank is then one), from solved columns.
   */
  inverseBlock(at: Int32Array, white: number, power: number): Float64Array {
    const k = at.length;
    const out = new Float64Array(k * k);
    if (power === 0) {
      for (let i = 0; i < k; i++) out[i * k + i] = 1 / white;
      return out;
    }
    const generators = this.#inverseGenerators();
    if (!generators) return this.#solvedBlock(at);
    const [h1, h2] = generators;
    const n = this.length;
    const place = new Int32Array(n).fill(-1);
    at.forEach((slot, i) => (place[slot] = i));
    const present = new Uint8Array(n);
    // Only diagonals on which two of the places lie are walked.
    for (let i = 0; i < k; i++) for (let j = 0; j <= i; j++) present[at[i]! - at[j]!] = 1;
    for (let lag = 0; lag < n; lag++) {
      if (!present[lag]) continue;
      let sum = 0;
      for (let i = n - 1; i >= lag; i--) {
        const j = i - lag;
        sum += h1[i]! * h1[j]! + h2[i]! * h2[j]!;
        const row = place[i]!;
        const column = place[j]!;
        if (row >= 0 && column >= 0) {
          out[row * k + column] = sum;
          out[column * k + row] = sum;
        }
      }
    }
    return out;
  }

  /** Undefined where they would be made of rounding. */
  #inverseGenerators(): [Float64Array, Float64Array] | undefined {
    const n = this.length;
    if (n < 3) return undefined;
    const ends = [0, 1, n - 1].map((j) => {
      const unit = new Float64Array(n);
      unit[j] = 1;
      return unit;
    });
    this.forward(ends);
    this.backward(ends);
    const [first, second, last] = ends as [Float64Array, Float64Array, Float64Array];
    const head = first.map((v, i) => v - (i + 1 < n ? second[i + 1]! : 0));
    // [head last] M^-1 [head last]' with M the four elements at the corners.
    const m11 = head[0]!;
    const m12 = last[0]!;
    const m22 = last[n - 1]!;
    const r11 = Math.sqrt(m22);
    const r21 = m12 / r11;
    const rest = m11 - r21 * r21;
    if (!(rest > 1e-7 * first[0]!)) return undefined;
    const r22 = Math.sqrt(rest);
    const h1 = last.map((v) => v / r11);
    const h2 = head.map((v, i) => (v - r21 * h1[i]!) / r22);
    return [h1, h2];
  }

  #solvedBlock(at: Int32Array): Float64Array {
    const k = at.length;
    const solved = Array.from(at, (slot) => {
      const unit = new Float64Array(this.length);
      unit[slot] = 1;
      this.forward([unit]);
      return unit;
    });
    const out = new Float64Array(k * k);
    for (let i = 0; i < k; i++)
      for (let j = 0; j <= i; j++) {
        let sum = 0;
        for (let row = at[i]!; row < this.length; row++) sum += solved[i]![row]! * solved[j]![row]!;
        out[i * k + j] = sum;
        out[j * k + i] = sum;
      }
    return out;
  }
}

/** One step of solving with a lower triangle: what the unknown k takes off the rows below it, for two columns at a time. */
function eliminate(
  factor: Float64Array,
  start: number,
  k: number,
  n: number,
  columns: readonly Float64Array[],
): void {
  const pivot = factor[start + k]!;
  let c = 0;
  for (; c + 1 < columns.length; c += 2) {
    const [one, two] = [columns[c]!, columns[c + 1]!];
    const first = one[k]! / pivot;
    const second = two[k]! / pivot;
    one[k] = first;
    two[k] = second;
    if (first === 0 && second === 0) continue;
    for (let i = k + 1; i < n; i++) {
      const l = factor[start + i]!;
      one[i]! -= l * first;
      two[i]! -= l * second;
    }
  }
  if (c === columns.length) return;
  const one = columns[c]!;
  const x = one[k]! / pivot;
  one[k] = x;
  if (x !== 0) for (let i = k + 1; i < n; i++) one[i]! -= factor[start + i]! * x;
}
