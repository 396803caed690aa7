import { flickerCovariance, flickerD, powerLawResponse } from '@stillmark/estimation';
import type { WindowSeries } from './windows.ts';

/** Windows by index, [from, to). */
export interface WindowRange {
  readonly from: number;
  readonly to: number;
}

/** Variance of a contrast as a * white + b * flicker, the two noise variances being of single windows. */
export interface ContrastCoefficients {
  readonly a: number;
  readonly b: number;
}

/**
 * What the position of now minus the reference position is made of, under white plus flicker noise.
 *
 * A displacement is d = w'x with weights 1/m on the windows of now and -1/n on those of the reference period. Its variance
 * is w' Sigma w with Sigma = white I + flicker T T', so that the memory of the noise across the time between the two is
 * counted; adding the variances of two means would not count it.
 */
export class ReferenceContrast {
  readonly reference: WindowRange;
  readonly #first: number;
  readonly #slots: Int32Array;
  readonly #response: Float64Array;
  /** T' w of the reference part alone. */
  readonly #referenceFiltered: Float64Array;

  constructor(windows: WindowSeries, reference: WindowRange) {
    this.reference = reference;
    this.#first = windows.slot[0] ?? 0;
    this.#slots = Int32Array.from(windows.slot, (s) => s - this.#first);
    const length = (this.#slots.at(-1) ?? 0) + 1;
    this.#response = powerLawResponse(length, flickerD);
    this.#referenceFiltered = new Float64Array(length);
    this.#addFiltered(this.#referenceFiltered, reference, 1 / (reference.to - reference.from));
  }

  /** Covariance of unit flicker noise over the windows of the reference period, row-major. */
  referenceFlicker(): Float64Array {
    return flickerCovariance(this.#slots.slice(this.reference.from, this.reference.to), this.#response);
  }

  /** Coefficients of the mean of some windows minus the reference mean. */
  of(now: WindowRange): ContrastCoefficients {
    const filtered = Float64Array.from(this.#referenceFiltered, (v) => -v);
    this.#addFiltered(filtered, now, 1 / (now.to - now.from));
    const n = this.reference.to - this.reference.from;
    const m = now.to - now.from;
    const common = Math.max(0, Math.min(now.to, this.reference.to) - Math.max(now.from, this.reference.from));
    return { a: 1 / n + 1 / m - (2 * common) / (n * m), b: filtered.reduce((s, v) => s + v * v, 0) };
  }

  /** Coefficients of every single window minus the reference mean. */
  ofEachWindow(): ContrastCoefficients[] {
    const h = this.#response;
    const u = this.#referenceFiltered;
    const n = this.reference.to - this.reference.from;
    const uu = u.reduce((s, v) => s + v * v, 0);
    const hh = new Float64Array(h.length);
    for (let i = 0, sum = 0; i < h.length; i++) hh[i] = sum += h[i]! * h[i]!;
    return Array.from(this.#slots, (slot, index) => {
      let hu = 0;
      for (let k = 0; k <= slot; k++) hu += h[slot - k]! * u[k]!;
      const own = index >= this.reference.from && index < this.reference.to;
      return { a: 1 + (own ? -1 : 1) / n, b: hh[slot]! - 2 * hu + uu };
    });
  }

  #addFiltered(out: Float64Array, range: WindowRange, weight: number): void {
    for (let index = range.from; index < range.to; index++) {
      const slot = this.#slots[index]!;
      for (let k = 0; k <= slot; k++) out[k]! += weight * this.#response[slot - k]!;
    }
  }
}
