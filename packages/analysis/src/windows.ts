import { median } from '@stillmark/estimation';
import { bisectLeft, bisectRight } from 'd3-array';
import { dayMs } from '@stillmark/records';
import { epochFlag } from './quality.ts';
import type { TopocentricSeries } from './topocentric-series.ts';

/** Window solutions of one station, in columns; a window without a solution is not there (gaps are gaps). */
export interface WindowSeries {
  readonly windowMs: number;
  /** Number of the window on the grid that begins at 1970: its start is `slot * windowMs`. */
  readonly slot: Float64Array;
  readonly epochs: Int32Array;
  /** Metres. */
  readonly east: Float64Array;
  readonly north: Float64Array;
  readonly up: Float64Array;
  /** Formal standard deviation that the processing claims for the mean, metres. */
  readonly formal: { readonly east: Float64Array; readonly north: Float64Array; readonly up: Float64Array };
}

/** A window with less than this share of the epochs usual at its time gives no solution. */
const leastShare = 0.5;

/**
 * Weighted means of the used epochs in windows of `windowMs`, aligned to UTC.
 *
 * Each epoch has one weight for its three axes, the inverse of the trace of its formal covariance: the mean then does
 * not depend on the axes it is computed in and lies among its epochs, which a mean weighted with full formal matrices
 * need not. The formal variance of the mean is sum(w^2 s^2) / sum(w)^2; it is reported, never trusted.
 */
export function windowSolutions(
  series: TopocentricSeries,
  flag: Uint8Array,
  windowMs: number,
  spacing: Spacing,
): WindowSeries {
  const slots: number[] = [];
  const rows: { epochs: number; mean: [number, number, number]; formal: [number, number, number] }[] = [];
  const n = series.timesMs.length;
  for (let i = 0; i < n;) {
    const slot = Math.floor(series.timesMs[i]! / windowMs);
    let weight = 0;
    let epochs = 0;
    const sum: [number, number, number] = [0, 0, 0];
    const spread: [number, number, number] = [0, 0, 0];
    // Sums about the first epoch of the window: coordinates may be kilometres, differences are millimetres.
    const start = [series.east[i]!, series.north[i]!, series.up[i]!] as const;
    for (; i < n && Math.floor(series.timesMs[i]! / windowMs) === slot; i++) {
      if (flag[i] !== epochFlag.used) continue;
      const s2 = [series.variance.east[i]!, series.variance.north[i]!, series.variance.up[i]!] as const;
      const trace = s2[0] + s2[1] + s2[2];
      const w = 1 / Math.max(trace, 1e-12);
      const d = [series.east[i]! - start[0], series.north[i]! - start[1], series.up[i]! - start[2]] as const;
      for (const k of [0, 1, 2] as const) {
        sum[k] += w * d[k];
        spread[k] += w * w * s2[k];
      }
      weight += w;
      epochs++;
    }
    if (epochs < Math.max(1, leastShare * (windowMs / spacing.at(slot * windowMs)))) continue;
    slots.push(slot);
    rows.push({
      epochs,
      mean: [start[0] + sum[0] / weight, start[1] + sum[1] / weight, start[2] + sum[2] / weight],
      formal: [Math.sqrt(spread[0]) / weight, Math.sqrt(spread[1]) / weight, Math.sqrt(spread[2]) / weight],
    });
  }
  return {
    windowMs,
    slot: Float64Array.from(slots),
    epochs: Int32Array.from(rows, (r) => r.epochs),
    east: Float64Array.from(rows, (r) => r.mean[0]),
    north: Float64Array.from(rows, (r) => r.mean[1]),
    up: Float64Array.from(rows, (r) => r.mean[2]),
    formal: {
      east: Float64Array.from(rows, (r) => r.formal[0]),
      north: Float64Array.from(rows, (r) => r.formal[1]),
      up: Float64Array.from(rows, (r) => r.formal[2]),
    },
  };
}

/** The usual time between epochs, which may change in the life of a station. */
export interface Spacing {
  /** Over the whole series, milliseconds. */
  readonly usualMs: number;
  /** In the week of an instant; the usual one where the week has too few epochs to tell. */
  at(timeMs: number): number;
}

const leastDifferences = 8;

/**
 * The medians of the differences of times: of the whole series, and of each week, so that a station that is sampled faster
 * later on keeps the windows of its slower beginning.
 *
 * @param fallbackMs where there are fewer than two epochs
 */
export function spacingOf(timesMs: Float64Array, fallbackMs: number): Spacing {
  const all: number[] = [];
  const weeks = new Map<number, number[]>();
  for (let i = 1; i < timesMs.length; i++) {
    const difference = timesMs[i]! - timesMs[i - 1]!;
    if (difference <= 0) continue;
    all.push(difference);
    const week = weekOf(timesMs[i]!);
    const own = weeks.get(week);
    if (own) own.push(difference);
    else weeks.set(week, [difference]);
  }
  const usualMs = all.length === 0 ? fallbackMs : median(Float64Array.from(all));
  const medians = new Map<number, number>();
  for (const [week, own] of weeks)
    if (own.length >= leastDifferences) medians.set(week, median(Float64Array.from(own)));
  return { usualMs, at: (timeMs) => medians.get(weekOf(timeMs)) ?? usualMs };
}

const weekOf = (timeMs: number): number => Math.floor(timeMs / (7 * dayMs));

/** Indices [from, to) of the windows that lie wholly within a span of time. */
export function windowsWithin(
  windows: WindowSeries,
  fromMs: number,
  toMs: number,
): { from: number; to: number } {
  const { slot, windowMs } = windows;
  const from = bisectLeft(slot, fromMs / windowMs);
  return { from, to: Math.max(from, bisectRight(slot, toMs / windowMs - 1)) };
}

/** The first windows alone. */
export function firstWindows(windows: WindowSeries, count: number): WindowSeries {
  return selected(
    windows,
    Array.from({ length: count }, (_, i) => i),
  );
}

/** Some of the windows, by index. */
export function selected(windows: WindowSeries, kept: readonly number[]): WindowSeries {
  const take = (values: Float64Array): Float64Array => Float64Array.from(kept, (i) => values[i]!);
  return {
    windowMs: windows.windowMs,
    slot: take(windows.slot),
    epochs: Int32Array.from(kept, (i) => windows.epochs[i]!),
    east: take(windows.east),
    north: take(windows.north),
    up: take(windows.up),
    formal: {
      east: take(windows.formal.east),
      north: take(windows.formal.north),
      up: take(windows.formal.up),
    },
  };
}

/** Means of the windows of each day that has half of them. */
export function dailyMeans(windows: WindowSeries): WindowSeries {
  const perDay = dayMs / windows.windowMs;
  const days = new Map<number, number[]>();
  windows.slot.forEach((slot, i) => {
    const day = Math.floor(slot / perDay);
    const own = days.get(day);
    if (own) own.push(i);
    else days.set(day, [i]);
  });
  const rows = [...days].filter(([, own]) => own.length >= perDay / 2);
  const mean = (values: Float64Array): Float64Array =>
    Float64Array.from(rows, ([, own]) => own.reduce((s, i) => s + values[i]!, 0) / own.length);
  return {
    windowMs: dayMs,
    slot: Float64Array.from(rows, ([day]) => day),
    epochs: Int32Array.from(rows, ([, own]) => own.reduce((s, i) => s + windows.epochs[i]!, 0)),
    east: mean(windows.east),
    north: mean(windows.north),
    up: mean(windows.up),
    formal: {
      east: mean(windows.formal.east),
      north: mean(windows.formal.north),
      up: mean(windows.formal.up),
    },
  };
}

/** Windows about the mean of some of them: those of the reference period, which figures are against. */
export function aboutMeanOf(
  windows: WindowSeries,
  { from, to }: { readonly from: number; readonly to: number },
): WindowSeries {
  const about = (values: Float64Array): Float64Array => {
    const mean = values.subarray(from, to).reduce((s, v) => s + v, 0) / (to - from);
    return values.map((v) => v - mean);
  };
  return { ...windows, east: about(windows.east), north: about(windows.north), up: about(windows.up) };
}
