import {
  estimateTogether,
  flickerStepFactor,
  noiseAxes,
  WhiteFlickerReml,
  type NoiseComponents,
  type Stretch,
} from '@stillmark/estimation';
import { dayMs, type NoiseRecord } from '@stillmark/records';
import type { ReferenceContrast, WindowRange } from './contrast.ts';
import { forget, type Remember } from './remember.ts';
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
function referenceEstimator(windows: WindowSeries, contrast: ReferenceContrast): WhiteFlickerReml {
  return estimatorOf(designOf(windows, contrast.reference, [() => 1]), contrast.reference, contrast);
}

/** Estimators by the times and terms that they are for: stations without gaps share theirs. */
const estimators = new Map<string, WhiteFlickerReml>();
/** Numbers that they hold together, 32 MB of them: as many as the spans of a year. */
const mostNumbers = 4_000_000;
let numbersHeld = 0;

interface NoiseDesign {
  /** Places of the windows since the first of them. */
  readonly slots: readonly number[];
  /** n x p, row-major. */
  readonly design: Float64Array;
  readonly p: number;
}

/** `terms` (of the milliseconds since the first of some windows) and the waves of a day. */
function designOf(
  windows: WindowSeries,
  { from, to }: WindowRange,
  terms: readonly ((ms: number) => number)[],
): NoiseDesign {
  const waves = [dayMs, dayMs / 2].flatMap((period) =>
    3 * windows.windowMs > period
      ? []
      : [
          (ms: number) => Math.cos((2 * Math.PI * ms) / period),
          (ms: number) => Math.sin((2 * Math.PI * ms) / period),
        ],
  );
  const all = [...terms, ...waves];
  const n = to - from;
  const p = all.length;
  const design = new Float64Array(n * p);
  const slots: number[] = [];
  for (let i = 0; i < n; i++) {
    const slot = windows.slot[from + i]! - windows.slot[from]!;
    slots.push(slot);
    all.forEach((term, j) => (design[i * p + j] = term((slot + 0.5) * windows.windowMs)));
  }
  return { slots, design, p };
}

function estimatorOf(
  { slots, design, p }: NoiseDesign,
  range: WindowRange,
  contrast: ReferenceContrast,
  remember: Remember = forget,
): WhiteFlickerReml {
  const key = `${slots.join()} ${design.join()}`;
  let estimator = estimators.get(key);
  if (!estimator) {
    estimator = new WhiteFlickerReml(
      remember('noise axes', [slots, design, p], () =>
        noiseAxes(design, contrast.flicker(range), slots.length, p),
      ),
    );
    numbersHeld += estimator.size;
    for (const [oldest, { size }] of estimators) {
      if (numbersHeld <= mostNumbers) break;
      estimators.delete(oldest);
      numbersHeld -= size;
    }
    estimators.set(key, estimator);
  }
  return estimator;
}

/** What some windows say of the noise of east, north and up about terms. */
function stretchOf(
  windows: WindowSeries,
  range: WindowRange,
  contrast: ReferenceContrast,
  terms: readonly ((ms: number) => number)[],
  remember: Remember,
): Stretch {
  const design = designOf(windows, range, terms);
  const series = axes.map((axis) => windows[axis].slice(range.from, range.to));
  // Of those that the next hour changes only their times stay as they are.
  return range.to < windows.slot.length
    ? remember('noise contrasts', [design, series], () =>
        estimatorOf(design, range, contrast).stretch(series),
      )
    : estimatorOf(design, range, contrast, remember).stretch(series);
}

/**
 * Noise for the slope of some windows after the reference period: learnt from that period and from the windows themselves,
 * about a straight line, and a step where one is tied. Movement that is not a line then counts as noise.
 *
 * @throws ESTIMATION_INPUT where the windows are too few
 */
export function rateNoise(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  range: WindowRange,
  remember: Remember = forget,
): StationNoise {
  return noiseOf(windows, contrast, [
    stretchOf(windows, contrast.reference, contrast, [() => 1], remember),
    stretchOf(windows, range, contrast, lineTerms(windows, contrast, range), remember),
  ]);
}

/**
 * Noise of the reference period about a straight line, for the question whether it drifts.
 *
 * @throws ESTIMATION_INPUT where the windows are too few
 */
export function noiseAboutLine(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  remember: Remember = forget,
): StationNoise {
  const range = contrast.reference;
  const terms = lineTerms(windows, contrast, range);
  return noiseOf(windows, contrast, [stretchOf(windows, range, contrast, terms, remember)]);
}

/** A constant, a straight line, and a step for each tie. */
function lineTerms(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  range: WindowRange,
): ((ms: number) => number)[] {
  const first = windows.slot[range.from]! * windows.windowMs;
  const days = ((range.to - range.from) * windows.windowMs) / dayMs;
  const steps = contrast.ties.filter(({ index }) => index > range.from && index < range.to);
  return [
    () => 1,
    (ms) => ms / dayMs / days - 0.5,
    ...steps.map(
      ({ atMs }) =>
        (ms: number): number =>
          ms + first >= atMs ? 1 : 0,
    ),
  ];
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
  remember: Remember = forget,
): StationNoise {
  return noiseOf(windows, contrast, [stretchOf(windows, contrast.reference, contrast, [() => 1], remember)]);
}

function noiseOf(
  windows: WindowSeries,
  { reference: { from, to } }: ReferenceContrast,
  parts: readonly Stretch[],
): StationNoise {
  const estimate = (...of: Axis[]): NoiseComponents[] =>
    estimateTogether(
      parts.map(({ eigenvalues, contrasts }) => ({
        eigenvalues,
        contrasts: of.map((axis) => contrasts[axes.indexOf(axis)]!),
      })),
    );
  // East and north come from the same signals along the same paths: what part of their noise lasts is estimated from both.
  const [east, north] = estimate('east', 'north') as [NoiseComponents, NoiseComponents];
  const components = { east, north, up: estimate('up')[0]! };

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

/**
 * Noise of the vectors of a network in its reference period: the antennas are of one kind and stand under one sky, so that all vectors share
 * the part that is flicker noise, of east and north together and of up; each has a scale of its own.
 *
 * @param vectors with the same windows
 * @throws ESTIMATION_INPUT where the period is too short or a vector does not vary
 */
export function networkNoise(
  vectors: readonly WindowSeries[],
  contrast: ReferenceContrast,
): Record<Axis, NoiseComponents>[] {
  const { from, to } = contrast.reference;
  const reml = referenceEstimator(vectors[0]!, contrast);
  const estimate = (of: readonly Axis[]): NoiseComponents[] =>
    estimateTogether([
      reml.stretch(vectors.flatMap((windows) => of.map((axis) => windows[axis].subarray(from, to)))),
    ]);
  const plan = estimate(['east', 'north']);
  const up = estimate(['up']);
  return vectors.map((_, k) => ({ east: plan[2 * k]!, north: plan[2 * k + 1]!, up: up[k]! }));
}
