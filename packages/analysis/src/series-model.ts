import {
  averagePower,
  fitTrajectories,
  flickerD,
  PowerLawGls,
  powerLawResponse,
  type SeriesGroup,
  type TrajectoryFit,
} from '@stillmark/estimation';
import type { EventKind } from '@stillmark/records';
import { mergedSteps, type Step } from './ties.ts';
import { axes, type Axis } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

/** A step of the positions at a known time, movement or not. */
export interface KnownStep extends Step {
  readonly kind: EventKind;
  /** Whether a movement may relax after it. */
  readonly creep?: boolean;
}

export const yearMs = 365.25 * 86_400_000;

/**
 * The means of a station against the terms that explain them: a constant, a velocity in a year, a step at each event, waves of the
 * year and the half-year, and further columns; in this order.
 */
export interface SeriesTerms {
  /** Places of the means on their grid, from the first one on, and their middles. */
  readonly slots: Int32Array;
  readonly timesMs: Float64Array;
  readonly steps: readonly KnownStep[];
  readonly seasons: boolean;
  /** n x p, row-major. */
  readonly design: Float64Array;
  readonly p: number;
  /** Impulse response of flicker noise over the whole span. */
  readonly response: Float64Array;
}

/** Terms, and what they are to explain. */
export interface SeriesModel extends SeriesTerms {
  readonly windows: WindowSeries;
  /** East, north and up, metres, each about its mean. */
  readonly series: readonly [Float64Array, Float64Array, Float64Array];
}

interface MoreTerms {
  readonly seasons?: boolean;
  /** Further columns, a value a mean. */
  readonly more?: readonly Float64Array[];
}

export function seriesModel(
  windows: WindowSeries,
  events: readonly KnownStep[],
  more?: MoreTerms,
): SeriesModel {
  return {
    windows,
    ...seriesTerms(windows, events, more),
    series: axes.map((axis) => centred(windows[axis])) as unknown as SeriesModel['series'],
  };
}

export function seriesTerms(
  { slot, windowMs }: Pick<WindowSeries, 'slot' | 'windowMs'>,
  events: readonly KnownStep[],
  { seasons = false, more = [] }: MoreTerms = {},
): SeriesTerms {
  const n = slot.length;
  const first = slot[0]!;
  const timesMs = slot.map((place) => (place + 0.5) * windowMs);
  const middle = (timesMs[0]! + timesMs[n - 1]!) / 2;
  // Steps between which no mean lies are one term.
  const steps = mergedSteps(
    events.filter(({ atMs, kind }) => kind !== 'note' && atMs > timesMs[0]! && atMs < timesMs[n - 1]!),
    (a, b) => !timesMs.some((ms) => ms >= a.atMs && ms < b.atMs),
  );
  const wave = (ms: number, part: number): number => (2 * Math.PI * part * ms) / yearMs;
  const columns = [
    timesMs.map(() => 1),
    timesMs.map((ms) => (ms - middle) / yearMs),
    ...steps.map(({ atMs }) => timesMs.map((ms) => (ms >= atMs ? 1 : 0))),
    ...(seasons
      ? [1, 2].flatMap((part) => [
          timesMs.map((ms) => Math.cos(wave(ms, part))),
          timesMs.map((ms) => Math.sin(wave(ms, part))),
        ])
      : []),
    ...more,
  ];
  const p = columns.length;
  const design = new Float64Array(n * p);
  columns.forEach((column, j) => column.forEach((v, i) => (design[i * p + j] = v)));
  return {
    slots: Int32Array.from(slot, (place) => place - first),
    timesMs,
    steps,
    seasons,
    design,
    p,
    response: powerLawResponse(slot[n - 1]! - first + 1, flickerD),
  };
}

/** Fits of a model: of each axis, and of the sum of east and north, from which their covariance is made. */
export interface ModelFits extends Readonly<Record<Axis, TrajectoryFit>> {
  readonly sum: TrajectoryFit;
}

/**
 * The terms under white plus flicker noise that is learnt from the same means; east and north share the part that is flicker noise.
 *
 * @throws ESTIMATION_INPUT where the terms cannot be told apart, or explain everything
 */
export function fitModel(model: SeriesModel): ModelFits {
  const { series } = model;
  const eastAndNorth = series[0].map((v, i) => v + series[1][i]!);
  const [east, north, up, sum] = fitSeries(
    model,
    [...series, eastAndNorth],
    [{ of: [0, 1], also: [3] }, { of: [2] }],
  ) as [TrajectoryFit, TrajectoryFit, TrajectoryFit, TrajectoryFit];
  return { east, north, up, sum };
}

/**
 * The terms fitted to series.
 *
 * @throws ESTIMATION_INPUT where the terms cannot be told apart, or explain everything
 */
export function fitSeries(
  { slots, design, p, response }: SeriesTerms,
  series: readonly Float64Array[],
  groups: readonly SeriesGroup[],
): TrajectoryFit[] {
  return fitTrajectories(
    new PowerLawGls(slots, design, p, response),
    series,
    groups,
    averagePower(slots, response),
  );
}

/** What the terms leave of an axis, metres. */
export function residualsOf({ design, p, series }: SeriesModel, fits: ModelFits, axis: Axis): Float64Array {
  const { estimates } = fits[axis];
  return series[axes.indexOf(axis)]!.map((v, i) => {
    let rest = v;
    for (let j = 0; j < p; j++) rest -= design[i * p + j]! * estimates[j]!.value;
    return rest;
  });
}

/** Correlation of the estimates of east and north of a term, within what rounding and the sum allow. */
export function eastNorthCorrelation({ east, north, sum }: ModelFits, term: number): number {
  const [e, n, s] = [east, north, sum].map(({ estimates }) => estimates[term]!.variance) as [
    number,
    number,
    number,
  ];
  return Math.max(-0.999, Math.min(0.999, (s - e - n) / 2 / Math.sqrt(e * n)));
}

/** Values about their mean. */
export function centred(values: Float64Array): Float64Array {
  const mean = values.reduce((s, v) => s + (v - values[0]!), 0) / values.length + values[0]!;
  return values.map((v) => v - mean);
}
