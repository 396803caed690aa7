import { studentFactor } from '@stillmark/estimation';
import type { PairQuantity, StationQuantity } from '@stillmark/records';
import { apply, type ReferenceContrast, type WindowRange, type Weights } from '../contrast.ts';
import { along, movement, type Movement } from '../movement.ts';
import { rateNoise, type StationNoise } from '../noise.ts';
import { leastFreedom, rateUnitDays } from '../statements.ts';
import { axes } from '../topocentric-series.ts';
import { windowsWithin, type WindowSeries } from '../windows.ts';

/** What is watched of a series. */
export interface WatchTask {
  readonly name: string;
  readonly quantity: StationQuantity | PairQuantity;
  /** Length of the means, a multiple of the windows. */
  readonly windowMs: number;
  /** Where the rate over so long is watched. */
  readonly rateOverMs?: number;
}

/** Means of a quantity, in columns, in the order of time; one that is not there is missing. */
export interface Evaluations {
  readonly windowMs: number;
  /** Their ends; on the grid of {@link windowMs} from 1970 on. */
  readonly endMs: Float64Array;
  /** Millimetres, millimetres in 30 days, or millimetres in a metre. */
  readonly value: Float64Array;
  /** Half-widths of the intervals; NaN where the noise is not known well enough. */
  readonly plusMinus: Float64Array;
}

/** A series against its reference position. */
export interface WatchedSeries {
  readonly windows: WindowSeries;
  readonly contrast: ReferenceContrast;
  readonly noise: StationNoise;
  readonly confidence: number;
  readonly adjust?: ((m: Movement, weights: Weights, scale?: number) => Movement) | undefined;
  /** The figure of a movement that is watched, with its variance and degrees of freedom. */
  readonly figure: (m: Movement) => { value: number; variance: number; freedom: number };
}

/** Least share of the windows of a mean that must be there (as of a day, half), and of a span of a rate. */
const leastShare = 0.5;
const leastRateShare = 0.7;

/** Means of a quantity since the reference period, each with its interval. */
export function evaluationsOf(series: WatchedSeries, task: WatchTask): Evaluations {
  const { windows, contrast } = series;
  const { windowMs: length, rateOverMs } = task;
  const { windowMs, slot } = windows;
  const n = slot.length;
  const out: { endMs: number; value: number; plusMinus: number }[] = [];
  const begin = n === 0 ? 0 : (slot[contrast.reference.to - 1]! + 1) * windowMs;
  const first = Math.floor(begin / length) * length + length;
  const last = n === 0 ? -1 : Math.floor(((slot[n - 1]! + 1) * windowMs) / length) * length;
  const noises = new Map<number, StationNoise>();
  const offsets = axes.map((axis) => contrast.offsets(axis));
  for (let endMs = first; endMs <= last; endMs += length) {
    const span = rateOverMs ?? length;
    if (endMs - span < begin) continue;
    const newest = windowsWithin(windows, endMs - length, endMs);
    if (newest.to - newest.from < leastShare * (length / windowMs)) continue;
    const range = rateOverMs === undefined ? newest : windowsWithin(windows, endMs - span, endMs);
    const share = rateOverMs === undefined ? leastShare : leastRateShare;
    if (range.to - range.from < share * (span / windowMs)) continue;
    const m =
      rateOverMs === undefined
        ? meanOf(series, range, offsets)
        : rateOf(series, range, noiseBefore(series, endMs, span, noises));
    const { value, variance, freedom } = series.figure(m);
    const plusMinus =
      freedom < leastFreedom ? Number.NaN : studentFactor(series.confidence, freedom) * Math.sqrt(variance);
    out.push({ endMs, value, plusMinus });
  }
  return {
    windowMs: length,
    endMs: Float64Array.from(out, (e) => e.endMs),
    value: Float64Array.from(out, (e) => e.value),
    plusMinus: Float64Array.from(out, (e) => e.plusMinus),
  };
}

/** As `displacement` of movement.ts: against the committed position, which does not change. */
function meanOf(
  { windows, contrast, noise, adjust = (m) => m }: WatchedSeries,
  range: WindowRange,
  offsets: readonly Float64Array[],
): Movement {
  const mean = contrast.mean(range);
  const tied = contrast.tied(mean);
  const value = (k: number): number => 1000 * (apply(mean, windows[axes[k]!]) - apply(mean, offsets[k]!));
  const m = movement(windows, contrast, noise, tied, 1000, contrast.tiedCoefficients(mean, range));
  return adjust({ ...m, east_mm: value(0), north_mm: value(1), up_mm: value(2) }, tied);
}

function rateOf(
  { windows, contrast, adjust = (m) => m }: WatchedSeries,
  range: WindowRange,
  noise: StationNoise,
): Movement {
  const slope = contrast.slope(range);
  const tied = contrast.tied(slope);
  const scale = 1000 * rateUnitDays;
  return adjust(
    movement(windows, contrast, noise, tied, scale, contrast.tiedCoefficients(slope, range)),
    tied,
    scale,
  );
}

/**
 * The noise for a rate: that of the reference period and of the last whole span before, on the grid of spans from 1970 on. It is learnt
 * anew once a span, and never from what comes later.
 */
function noiseBefore(
  { windows, contrast, noise }: WatchedSeries,
  endMs: number,
  span: number,
  known: Map<number, StationNoise>,
): StationNoise {
  const until = Math.floor(endMs / span) * span;
  let found = known.get(until);
  if (!found) {
    const range = windowsWithin(windows, until - span, until);
    const enough =
      range.from >= contrast.reference.to &&
      range.to - range.from >= leastRateShare * (span / windows.windowMs);
    found = enough ? rateNoise(windows, contrast, range) : noise;
    known.set(until, found);
  }
  return found;
}

/**
 * The figure of a movement that a quantity of stations means.
 *
 * @param longitudinal azimuth of the structure's longitudinal axis in radians, where it has one
 */
export function stationFigure(
  quantity: StationQuantity,
  longitudinal: number | undefined,
): WatchedSeries['figure'] {
  const azimuth = {
    east: Math.PI / 2,
    north: 0,
    longitudinal: longitudinal ?? Number.NaN,
    transverse: (longitudinal ?? Number.NaN) + Math.PI / 2,
  };
  if (quantity === 'up') return (m) => ({ value: m.up_mm, variance: m.uu, freedom: m.upFreedom });
  if (quantity === 'horizontal')
    return (m) => ({
      value: Math.hypot(m.east_mm, m.north_mm),
      variance: along(m, Math.atan2(m.east_mm, m.north_mm)).variance,
      freedom: m.horizontalFreedom,
    });
  return (m) => ({ ...along(m, azimuth[quantity]), freedom: m.horizontalFreedom });
}
