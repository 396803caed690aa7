import { flickerCovariance, flickerD, powerLawResponse } from '@stillmark/estimation';
import { dayMs } from '@stillmark/records';
import type { Tie } from './ties.ts';
import type { Axis } from './topocentric-series.ts';
import { firstWindows, type WindowSeries } from './windows.ts';

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

/** One weight for each window: a figure is the weighted sum of the windows. */
export type Weights = Float64Array;

/**
 * What figures against the reference position are made of, under white plus flicker noise.
 *
 * A displacement is d = w'x with weights 1/m on the windows of now and -1/n on those of the reference period; each step that
 * is no movement adds -1/a on the windows after it and 1/b on those before. Its variance is w' Sigma w with
 * Sigma = white I + flicker T T', so that the memory of the noise across the time between is counted, and the uncertainty of
 * the ties stays in every later figure; adding the variances of means would not count it.
 */
export class ReferenceContrast {
  readonly reference: WindowRange;
  readonly ties: readonly Tie[];
  readonly #windows: WindowSeries;
  readonly #slots: Int32Array;
  readonly #response: Float64Array;
  readonly #referenceMean: Weights;
  readonly #filteredOnce = new Map<Tie | 'reference', Float64Array>();

  /** @param ties in order of time, none of them inside the reference period */
  constructor(windows: WindowSeries, reference: WindowRange, ties: readonly Tie[] = []) {
    this.reference = reference;
    this.ties = ties;
    this.#windows = windows;
    const first = windows.slot[0] ?? 0;
    this.#slots = Int32Array.from(windows.slot, (s) => s - first);
    this.#response = powerLawResponse((this.#slots.at(-1) ?? 0) + 1, flickerD);
    this.#referenceMean = this.mean(reference);
  }

  /**
   * The same on the first windows alone: what they say is then known to depend on nothing later. Ties behind them have no part in it.
   *
   * @returns undefined where the reference period or a tie rests on later windows too
   */
  first(count: number): { readonly windows: WindowSeries; readonly contrast: ReferenceContrast } | undefined {
    const ties = this.ties.filter(({ index }) => index < count);
    if (this.reference.to > count || ties.some(({ after }) => after.to > count)) return undefined;
    const windows = firstWindows(this.#windows, count);
    return { windows, contrast: new ReferenceContrast(windows, this.reference, ties) };
  }

  /** Covariance of unit flicker noise over some windows, as if it had begun with the first of them; row-major. */
  flicker({ from, to }: WindowRange): Float64Array {
    const first = this.#slots[from]!;
    return flickerCovariance(
      this.#slots.slice(from, to).map((slot) => slot - first),
      this.#response,
    );
  }

  /** Weights of the mean of some windows. */
  mean({ from, to }: WindowRange): Weights {
    const weights = new Float64Array(this.#slots.length);
    return weights.fill(1 / (to - from), from, to);
  }

  /** Weights of the slope of the straight line of least squares through some windows, per day. */
  slope({ from, to }: WindowRange): Weights {
    const weights = new Float64Array(this.#slots.length);
    const days = (i: number): number => (this.#slots[i]! * this.#windows.windowMs) / dayMs;
    let centre = 0;
    for (let i = from; i < to; i++) centre += days(i) / (to - from);
    let squares = 0;
    for (let i = from; i < to; i++) squares += (days(i) - centre) ** 2;
    for (let i = from; i < to; i++) weights[i] = (days(i) - centre) / squares;
    return weights;
  }

  /** Weights of the step of a tie: mean after it minus mean before it. */
  step({ before, after }: Tie): Weights {
    const weights = this.mean(after);
    return weights.fill(-1 / (before.to - before.from), before.from, before.to);
  }

  /** The weights of a mean or slope with the reference position and the ties between taken off. */
  tied(weights: Weights): Weights {
    const out = weights.slice();
    const add = (other: Weights, factor: number): void => {
      if (factor !== 0) for (let i = 0; i < out.length; i++) out[i]! += factor * other[i]!;
    };
    for (const tie of this.ties) add(this.step(tie), -this.#shareBeyond(weights, tie));
    add(this.#referenceMean, -sum(weights, 0, weights.length));
    return out;
  }

  /**
   * Coefficients of `tied(weights)` for weights on a few windows: what the reference position and the ties add is filtered once.
   *
   * @param weights zero outside `range`
   */
  tiedCoefficients(weights: Weights, range: WindowRange): ContrastCoefficients {
    const filtered = this.#filtered(weights, range);
    const add = (key: Tie | 'reference', own: () => Weights, factor: number): void => {
      if (factor === 0) return;
      let known = this.#filteredOnce.get(key);
      if (!known) this.#filteredOnce.set(key, (known = this.#filtered(own())));
      for (let j = 0; j < filtered.length; j++) filtered[j]! += factor * known[j]!;
    };
    for (const tie of this.ties) add(tie, () => this.step(tie), -this.#shareBeyond(weights, tie));
    add('reference', () => this.#referenceMean, -sum(weights, range.from, range.to));
    return { a: squared(this.tied(weights)), b: squared(filtered) };
  }

  /** How much of the weight lies on the other side of a step than the reference period; negative where that is before it. */
  #shareBeyond(weights: Weights, { index }: Tie): number {
    return index >= this.reference.to ? sum(weights, index, weights.length) : -sum(weights, 0, index);
  }

  /** Metres to be taken off each window of an axis for the steps between it and the reference period. */
  offsets(axis: Axis): Float64Array {
    const out = new Float64Array(this.#slots.length);
    for (const tie of this.ties) {
      const size = apply(this.step(tie), this.#windows[axis]);
      if (tie.index >= this.reference.to) for (let i = tie.index; i < out.length; i++) out[i]! += size;
      else for (let i = 0; i < tie.index; i++) out[i]! -= size;
    }
    return out;
  }

  coefficients(weights: Weights): ContrastCoefficients {
    let a = 0;
    for (const w of weights) a += w * w;
    return { a, b: squared(this.#filtered(weights)) };
  }

  /** Coefficients of every single window, from one on, minus the reference mean and the ties between. */
  ofEachWindow(start = 0): ContrastCoefficients[] {
    const h = this.#response;
    const n = this.#slots.length;
    const hh = new Float64Array(h.length);
    for (let i = 0, total = 0; i < h.length; i++) hh[i] = total += h[i]! * h[i]!;
    const out = new Array<ContrastCoefficients>(n - start);
    // Between two steps all windows have the same origin.
    const bounds = [0, ...this.ties.map((tie) => tie.index), n];
    for (let k = 0; k + 1 < bounds.length; k++) {
      const [from, to] = [bounds[k]!, bounds[k + 1]!];
      if (from === to || to <= start) continue;
      const one = new Float64Array(n);
      one[from] = 1;
      const origin = this.tied(one).map((w, i) => one[i]! - w);
      const filtered = this.#filtered(origin);
      const [uu, ff] = [squared(origin), squared(filtered)];
      for (let i = Math.max(from, start); i < to; i++) {
        const slot = this.#slots[i]!;
        let hu = 0;
        for (let j = 0; j <= slot; j++) hu += h[slot - j]! * filtered[j]!;
        out[i - start] = { a: 1 - 2 * origin[i]! + uu, b: hh[slot]! - 2 * hu + ff };
      }
    }
    return out;
  }

  /** T' w on the grid of all windows, there or not. */
  #filtered(weights: Weights, { from, to }: WindowRange = { from: 0, to: weights.length }): Float64Array {
    const h = this.#response;
    const out = new Float64Array(h.length);
    for (let i = from; i < to; i++) {
      const weight = weights[i]!;
      if (weight === 0) continue;
      const slot = this.#slots[i]!;
      for (let j = 0; j <= slot; j++) out[j]! += weight * h[slot - j]!;
    }
    return out;
  }
}

/** w'x. */
export function apply(weights: Weights, values: Float64Array): number {
  let total = 0;
  for (let i = 0; i < weights.length; i++) total += weights[i]! * values[i]!;
  return total;
}

function sum(values: Float64Array, from: number, to: number): number {
  let total = 0;
  for (let i = from; i < to; i++) total += values[i]!;
  return total;
}

function squared(values: Float64Array): number {
  let total = 0;
  for (const v of values) total += v * v;
  return total;
}
