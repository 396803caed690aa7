import { studentFactor } from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import type { PairQuantity, StationQuantity } from '@stillmark/records';
import { apply, type ReferenceContrast, type WindowRange } from '../contrast.ts';
import { along, movement, type Movement } from '../movement.ts';
import { rateNoise, type StationNoise } from '../noise.ts';
import { presentOf, unadjusted, type Adjustment, type PresentTask } from '../present.ts';
import { forget, type Remember } from '../remember.ts';
import { joined, settledUntil } from '../settled.ts';
import { leastFreedom, rateUnitDays } from '../statements.ts';
import { axes } from '../topocentric-series.ts';
import { firstWindows, windowsWithin, type WindowSeries } from '../windows.ts';

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
  readonly adjust?: Adjustment | undefined;
  readonly figure: WatchedFigure;
  /** Memory of what was computed from the same inputs before. */
  readonly remember?: Remember | undefined;
}

/** The figure of a movement that is watched. */
export interface WatchedFigure {
  /** With its variance and degrees of freedom. */
  readonly of: (m: Movement) => { value: number; variance: number; freedom: number };
  /** What says which one it is; plain data. */
  readonly inputs: readonly unknown[];
}

/** What is watched of a series, as far as it can be. */
export interface WatchedMeans {
  readonly evaluations: ReadonlyMap<string, Evaluations>;
  /** Ends of the windows that are there. */
  readonly dataMs: Float64Array;
  /** From a step on that cannot be tied yet nothing is watched. */
  readonly untied?: { readonly fromMs: number; readonly what: string };
}

/**
 * Watches a series up to its end or, where a step near that cannot be tied yet, up to the step: what was reached before stays known.
 *
 * @param figureOf the figure that a quantity means
 * @throws ESTIMATION_INPUT where not even the windows before all steps can be stated
 */
export function watchSeries<T extends WatchTask>(
  windows: WindowSeries,
  task: PresentTask,
  watches: readonly T[],
  figureOf: (watch: T) => WatchedFigure,
): WatchedMeans {
  const dataMs = windows.slot.map((slot) => (slot + 1) * windows.windowMs);
  const later = task.steps
    .filter(({ atMs }) => atMs >= task.reference.toMs)
    .toSorted((a, b) => b.atMs - a.atMs);
  let untied: WatchedMeans['untied'];
  for (let dropped = 0; ; dropped++) {
    const cut = dropped === 0 ? undefined : later[dropped - 1];
    const own = cut ? before(windows, cut.atMs) : windows;
    const steps = cut ? task.steps.filter(({ atMs }) => atMs < cut.atMs) : task.steps;
    try {
      const { contrast, noise } = presentOf({ ...task, steps }, own);
      const series = {
        windows: own,
        contrast,
        noise,
        confidence: task.settings.confidence,
        adjust: task.adjust,
        remember: task.remember,
      };
      return {
        dataMs,
        evaluations: new Map(
          watches.map((watch) => [watch.name, evaluationsOf({ ...series, figure: figureOf(watch) }, watch)]),
        ),
        ...(untied ? { untied } : {}),
      };
    } catch (error) {
      if (!(error instanceof ProblemError) || dropped === later.length) throw error;
      untied = { fromMs: later[dropped]!.atMs, what: later[dropped]!.what };
    }
  }
}

/** Least share of the windows of a mean that must be there (as of a day, half), and of a span of a rate. */
const leastShare = 0.5;
const leastRateShare = 0.7;

/**
 * Means of a quantity since the reference period, each with its interval. Those that end before the newest window are remembered; they are
 * computed from the windows until then alone, so that what is remembered cannot hang on anything later.
 */
export function evaluationsOf(series: WatchedSeries, task: WatchTask): Evaluations {
  const { windows, contrast, noise, confidence, adjust, figure, remember = forget } = series;
  const untilMs = settledUntil(windows, task.windowMs);
  const count = windowsWithin(windows, 0, untilMs).to;
  const settled = contrast.first(count);
  const { windowMs: length } = task;
  const { slot, windowMs } = windows;
  // A mean counts where its last windows are missing too, as long as a later one is there.
  const lastMs = slot.length === 0 ? 0 : Math.floor(((slot.at(-1)! + 1) * windowMs) / length) * length;
  if (!settled) return evaluationsWithin(series, task, 0, lastMs);
  const early = remember(
    'watched means',
    [
      settled.windows,
      contrast.reference,
      settled.contrast.ties,
      noise,
      confidence,
      adjust?.inputs(count),
      figure.inputs,
      task,
    ],
    () => evaluationsWithin({ ...series, ...settled }, task, 0, untilMs),
  );
  const late = evaluationsWithin(series, task, untilMs, lastMs);
  return {
    windowMs: length,
    endMs: joined(early.endMs, late.endMs),
    value: joined(early.value, late.value),
    plusMinus: joined(early.plusMinus, late.plusMinus),
  };
}

/** The means that end after an instant of their grid, up to and including another. */
function evaluationsWithin(
  series: WatchedSeries,
  task: WatchTask,
  afterMs: number,
  lastMs: number,
): Evaluations {
  const { windows, contrast } = series;
  const { windowMs: length, rateOverMs } = task;
  const { windowMs, slot } = windows;
  const n = slot.length;
  const out: { endMs: number; value: number; plusMinus: number }[] = [];
  const begin = n === 0 ? 0 : (slot[contrast.reference.to - 1]! + 1) * windowMs;
  const first = Math.max(Math.floor(begin / length) * length, afterMs) + length;
  const noises = new Map<number, StationNoise>();
  const offsets = axes.map((axis) => contrast.offsets(axis));
  for (let endMs = first; endMs <= lastMs; endMs += length) {
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
    const { value, variance, freedom } = series.figure.of(m);
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
  { windows, contrast, noise, adjust = unadjusted }: WatchedSeries,
  range: WindowRange,
  offsets: readonly Float64Array[],
): Movement {
  const mean = contrast.mean(range);
  const tied = contrast.tied(mean);
  const value = (k: number): number => 1000 * (apply(mean, windows[axes[k]!]) - apply(mean, offsets[k]!));
  const m = movement(windows, contrast, noise, tied, 1000, contrast.tiedCoefficients(mean, range));
  return adjust.of({ ...m, east_mm: value(0), north_mm: value(1), up_mm: value(2) }, tied);
}

function rateOf(
  { windows, contrast, adjust = unadjusted }: WatchedSeries,
  range: WindowRange,
  noise: StationNoise,
): Movement {
  const slope = contrast.slope(range);
  const tied = contrast.tied(slope);
  const scale = 1000 * rateUnitDays;
  return adjust.of(
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
  { windows, contrast, noise, remember }: WatchedSeries,
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
    found = enough ? learnt(() => rateNoise(windows, contrast, range, remember), noise) : noise;
    known.set(until, found);
  }
  return found;
}

/** Too few windows of a span leave what is known from before. */
function learnt(learn: () => StationNoise, otherwise: StationNoise): StationNoise {
  try {
    return learn();
  } catch (error) {
    if (error instanceof ProblemError) return otherwise;
    throw error;
  }
}

/**
 * The figure of a movement that a quantity of stations means.
 *
 * @param longitudinal azimuth of the structure's longitudinal axis in radians, where it has one
 */
export function stationFigure(quantity: StationQuantity, longitudinal: number | undefined): WatchedFigure {
  const inputs = [quantity, longitudinal];
  const azimuth = {
    east: Math.PI / 2,
    north: 0,
    longitudinal: longitudinal ?? Number.NaN,
    transverse: (longitudinal ?? Number.NaN) + Math.PI / 2,
  };
  if (quantity === 'up')
    return { inputs, of: (m) => ({ value: m.up_mm, variance: m.uu, freedom: m.upFreedom }) };
  if (quantity === 'horizontal')
    return {
      inputs,
      of: (m) => ({
        value: Math.hypot(m.east_mm, m.north_mm),
        variance: along(m, Math.atan2(m.east_mm, m.north_mm)).variance,
        freedom: m.horizontalFreedom,
      }),
    };
  return { inputs, of: (m) => ({ ...along(m, azimuth[quantity]), freedom: m.horizontalFreedom }) };
}

/** The windows that end before an instant. */
function before(windows: WindowSeries, ms: number): WindowSeries {
  const count = windows.slot.findIndex((slot) => (slot + 1) * windows.windowMs > ms);
  return count < 0 ? windows : firstWindows(windows, count);
}
