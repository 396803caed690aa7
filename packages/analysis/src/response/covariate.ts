import { median } from '@stillmark/estimation';
import type { ReadingSeries } from '@stillmark/records';

/** A log that may explain movements. */
export interface Covariate {
  readonly sensor: string;
  readonly what: string;
  readonly unit: string;
  readonly readings: ReadingSeries;
  /** Movements are looked for that follow the log by up to this time. */
  readonly longestLagMs: number;
}

/** Of a span less than this part of the usual readings gives no mean. */
const leastShare = 0.5;
/** Readings further apart than this many times the usual are not joined. */
const mostApart = 2;

/**
 * Means of a log over spans about instants, `lagMs` earlier. Where readings are rarer than spans, the line between two neighbours
 * stands for them. NaN where there are too few.
 *
 * @param centresMs middles of the spans, ascending
 */
export function covariateMeans(
  { timesMs, values }: ReadingSeries,
  centresMs: Float64Array,
  spanMs: number,
  lagMs = 0,
): Float64Array {
  const n = timesMs.length;
  if (n < 2) return centresMs.map(() => Number.NaN);
  const usual = usualSpacing(timesMs);
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i]! + (values[i]! - values[0]!);
  const least = (leastShare * spanMs) / usual;
  let [from, to] = [0, 0];
  return centresMs.map((centre) => {
    const start = centre - lagMs - spanMs / 2;
    while (from < n && timesMs[from]! < start) from++;
    if (to < from) to = from;
    while (to < n && timesMs[to]! < start + spanMs) to++;
    if (usual < spanMs)
      return to - from < least ? Number.NaN : values[0]! + (sums[to]! - sums[from]!) / (to - from);
    return between(timesMs, values, start + spanMs / 2, mostApart * usual);
  });
}

const spacings = new WeakMap<Float64Array, number>();

function usualSpacing(timesMs: Float64Array): number {
  let usual = spacings.get(timesMs);
  if (usual === undefined) {
    usual = median(Float64Array.from(timesMs.subarray(1), (t, i) => t - timesMs[i]!));
    spacings.set(timesMs, usual);
  }
  return usual;
}

/** The value on the line between the neighbours of an instant; NaN where they are too far apart. */
function between(timesMs: Float64Array, values: Float64Array, at: number, apart: number): number {
  let [low, high] = [0, timesMs.length - 1];
  if (at < timesMs[low]! || at > timesMs[high]!) return Number.NaN;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (timesMs[middle]! <= at) low = middle;
    else high = middle;
  }
  const gap = timesMs[high]! - timesMs[low]!;
  if (gap > apart) return Number.NaN;
  return gap === 0
    ? values[low]!
    : values[low]! + ((values[high]! - values[low]!) * (at - timesMs[low]!)) / gap;
}
