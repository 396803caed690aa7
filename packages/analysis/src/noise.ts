import { flickerStepFactor, WhiteFlickerReml, type NoiseComponents } from '@stillmark/estimation';
import { dayMs, type NoiseRecord } from '@stillmark/records';
import type { ReferenceContrast } from './contrast.ts';
import { axes, type Axis } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

export interface StationNoise {
  /** Variances in square metres of single windows. */
  readonly components: Readonly<Record<Axis, NoiseComponents>>;
  /** Correlation of the east and north noise, from the whitened residuals. */
  readonly eastNorth: number;
  readonly record: Readonly<Record<Axis, NoiseRecord>>;
}

/**
 * The estimator of white and flicker noise for the windows of the reference period: about a mean and, where windows are
 * short enough to show it, a daily and half-daily wave. It depends on the times alone, so series with the same sampling
 * can share one.
 *
 * @throws ESTIMATION_INPUT where the period is too short
 */
export function referenceEstimator(windows: WindowSeries, contrast: ReferenceContrast): WhiteFlickerReml {
  const { from, to } = contrast.reference;
  const n = to - from;
  const terms: ((ms: number) => number)[] = [() => 1];
  for (const period of [dayMs, dayMs / 2]) {
    if (3 * windows.windowMs > period) continue;
    terms.push(
      (ms) => Math.cos((2 * Math.PI * ms) / period),
      (ms) => Math.sin((2 * Math.PI * ms) / period),
    );
  }
  const p = terms.length;
  const design = new Float64Array(n * p);
  for (let i = 0; i < n; i++) {
    const middle = (windows.slot[from + i]! - windows.slot[from]! + 0.5) * windows.windowMs;
    terms.forEach((term, j) => (design[i * p + j] = term(middle)));
  }
  return new WhiteFlickerReml(design, contrast.referenceFlicker(), n, p);
}

/**
 * White and flicker noise of the window solutions of the reference period, by restricted maximum likelihood.
 *
 * Learnt from the reference period alone, so that later movement cannot pass for noise; with few weeks of data the
 * amplitudes are uncertain, and the degrees of freedom of every interval say so.
 *
 * @throws ESTIMATION_INPUT where the period is too short or the positions do not vary
 */
export function referenceNoise(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  estimator: WhiteFlickerReml = referenceEstimator(windows, contrast),
): StationNoise {
  const { from, to } = contrast.reference;
  const estimate = (axis: Axis): NoiseComponents => estimator.estimate(windows[axis].subarray(from, to));
  const components = { east: estimate('east'), north: estimate('north'), up: estimate('up') };

  const e = components.east.whitened;
  const eastNorth = e.reduce((s, v, i) => s + v * components.north.whitened[i]!, 0) / e.length;
  const record = {} as Record<Axis, NoiseRecord>;
  for (const axis of axes) {
    record[axis] = {
      white_mm: 1000 * Math.sqrt(components[axis].white),
      flicker_mm: (1000 * Math.sqrt(components[axis].flicker)) / flickerStepFactor(windows.windowMs),
      formal_mm: 1000 * rootMeanSquare(windows.formal[axis].subarray(from, to)),
      scatter_mm: 1000 * standardDeviation(windows[axis].subarray(from, to)),
    };
  }
  return { components, eastNorth, record };
}

function rootMeanSquare(values: Float64Array): number {
  return Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);
}

function standardDeviation(values: Float64Array): number {
  const mean = values.reduce((s, v) => s + v, 0) / values.length;
  return Math.sqrt(values.reduce((s, v) => s + (v - mean) ** 2, 0) / (values.length - 1));
}
