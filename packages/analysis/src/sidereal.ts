import { LeastSquaresDesign } from '@stillmark/estimation';
import { dayMs, type SiderealRecord } from '@stillmark/records';
import { epochFlag } from './quality.ts';
import { axes, perAxis, type Axis, type TopocentricSeries } from './topocentric-series.ts';
import { windowSolutions, type Spacing, type WindowSeries } from './windows.ts';

export interface SiderealSettings {
  /** From so many days before an epoch the pattern is taken. */
  readonly days: number;
  /** After so long the satellites stand over the same places again, seconds. */
  readonly repeatSeconds: number;
}

/** So many of the days before must have an epoch at the same place of the cycle. */
const leastDays = 3;
const waves = [dayMs, dayMs / 2];

/**
 * Takes off what repeats with the satellites from one day to the next (multipath): of each epoch the mean of what was left at the
 * same time of the sidereal day on the days before, after the mean of the day around it and the waves of the solar day are taken off.
 * So neither movement that lasts nor the daily movement of the structure is taken away: of a step the first day is smeared, and the
 * waves of series shorter than a year hold part of the pattern, which then stays.
 *
 * Only positions before an epoch give its pattern. But the waves of the solar day are those of the whole series, and in the first months
 * they hold part of the pattern: while a series is young, a later run changes what was filtered by up to a millimetre or two.
 *
 * Genrich and Bock (1992), Journal of Geophysical Research 97, 3261-3269; repeat times by Agnew and Larson (2007).
 *
 * @param breaksMs times at which the series steps for a known reason: each part is filtered by itself
 * @returns the series with the pattern taken off where it is known
 */
export function siderealFilter(
  local: TopocentricSeries,
  flag: Uint8Array,
  { days, repeatSeconds }: SiderealSettings,
  breaksMs: readonly number[] = [],
): TopocentricSeries {
  const kept = Array.from(local.timesMs.keys()).filter((i) => flag[i] === epochFlag.used);
  const times = Float64Array.from(kept, (i) => local.timesMs[i]!);
  const n = times.length;
  if (n < 100) return local;
  const design = new Float64Array(4 * n);
  for (let i = 0; i < n; i++)
    waves.forEach((period, k) => {
      const angle = (2 * Math.PI * times[i]!) / period;
      design[4 * i + 2 * k] = Math.cos(angle);
      design[4 * i + 2 * k + 1] = Math.sin(angle);
    });
  const daily = new LeastSquaresDesign(design, 4);
  const part = Int32Array.from(times, (t) => breaksMs.filter((ms) => t >= ms).length);
  const rest = axes.map((axis) => {
    const values = Float64Array.from(kept, (i) => local[axis][i]!);
    const around = dayAround(times, values, part);
    const left = values.map((v, i) => v - around[i]!);
    return daily.fit(left).residuals;
  });
  const usual = usualSpacing(times);
  const sums = axes.map(() => new Float64Array(n));
  const counts = new Int32Array(n);
  for (let k = 1; k <= days; k++) {
    let j = 0;
    for (let i = 0; i < n; i++) {
      const wanted = times[i]! - 1000 * k * repeatSeconds;
      while (j + 1 < n && Math.abs(times[j + 1]! - wanted) <= Math.abs(times[j]! - wanted)) j++;
      if (Math.abs(times[j]! - wanted) > usual / 2 || part[j] !== part[i]) continue;
      counts[i]!++;
      axes.forEach((_, a) => (sums[a]![i]! += rest[a]![j]!));
    }
  }
  const less = (a: number, axis: Axis): Float64Array => {
    const out = local[axis].slice();
    kept.forEach((i, k) => {
      if (counts[k]! >= Math.min(leastDays, days)) out[i]! -= sums[a]![k]! / counts[k]!;
    });
    return out;
  };
  return { ...local, east: less(0, 'east'), north: less(1, 'north'), up: less(2, 'up') };
}

/** What the filter did to the scatter of the windows about the mean of their day: one less the part that is left; below zero it harmed. */
export function siderealGain(
  raw: TopocentricSeries,
  filtered: TopocentricSeries,
  flag: Uint8Array,
  windowMs: number,
  spacing: Spacing,
  days: number,
): SiderealRecord {
  const of = (series: TopocentricSeries): WindowSeries => windowSolutions(series, flag, windowMs, spacing);
  const [before, after] = [of(raw), of(filtered)];
  // Before the filter has its days nothing is taken off.
  const from = (before.slot[0] ?? 0) * windowMs + (days + 1) * dayMs;
  return {
    days,
    ...perAxis((axis) => {
      const [a, b] = [scatter(before, axis, from), scatter(after, axis, from)];
      return a > 0 ? 1 - b / a : 0;
    }),
  };
}

/** Root mean square of windows about the mean of their day. */
function scatter(windows: WindowSeries, axis: Axis, fromMs: number): number {
  const byDay = new Map<number, number[]>();
  windows.slot.forEach((slot, i) => {
    const ms = slot * windows.windowMs;
    if (ms < fromMs) return;
    const day = Math.floor(ms / dayMs);
    const own = byDay.get(day);
    if (own) own.push(windows[axis][i]!);
    else byDay.set(day, [windows[axis][i]!]);
  });
  let [sum, freedom] = [0, 0];
  for (const values of byDay.values()) {
    const mean = values.reduce((s, v) => s + v, 0) / values.length;
    sum += values.reduce((s, v) => s + (v - mean) ** 2, 0);
    freedom += values.length - 1;
  }
  return freedom > 0 ? Math.sqrt(sum / freedom) : 0;
}

/** Mean of the day around each time, half a day to both sides, within its part. */
function dayAround(times: Float64Array, values: Float64Array, part: Int32Array): Float64Array {
  const n = times.length;
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i]! + (values[i]! - values[0]!);
  let [from, to] = [0, 0];
  return times.map((t, i) => {
    while (times[from]! < t - dayMs / 2 || part[from] !== part[i]) from++;
    while (to < n && times[to]! < t + dayMs / 2 && part[to] === part[i]) to++;
    return values[0]! + (sums[to]! - sums[from]!) / (to - from);
  });
}

function usualSpacing(times: Float64Array): number {
  const differences = times.subarray(1).map((t, i) => t - times[i]!);
  return differences.sort()[differences.length >> 1]!;
}
