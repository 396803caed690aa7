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
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i]! + (values[i]! - values[0]!);
  let [from, to] = [0, 0];
  return centresMs.map((centre) => {
    const start = centre - lagMs - spanMs / 2;
    while (from < n && timesMs[from]! < start) from++;
    if (to < from) to = from;
    while (to < n && timesMs[to]! < start + spanMs) to++;
    const usual = usualNear(timesMs, (from + to) >> 1);
    if (usual >= spanMs) return between(timesMs, values, start + spanMs / 2, mostApart * usual);
    // Of a span that is filled on one side alone the mean would lean to that side, and with the hour of the day.
    const open = mostApart * usual;
    const whole = to > from && timesMs[from]! - start <= open && start + spanMs - timesMs[to - 1]! <= open;
    if (!whole || to - from < (leastShare * spanMs) / usual) return Number.NaN;
    return values[0]! + (sums[to]! - sums[from]!) / (to - from);
  });
}

/** Readings about a place from which the usual time between them is told. */
const near = 5;

/** The usual time between readings about a place of a log: loggers are exchanged for faster ones, and slower. */
function usualNear(timesMs: Float64Array, place: number): number {
  const last = timesMs.length - 1;
  const from = Math.max(0, Math.min(place - near, last - 2 * near));
  const to = Math.min(last, from + 2 * near);
  return median(
    Float64Array.from({ length: to - from }, (_, k) => timesMs[from + k + 1]! - timesMs[from + k]!),
  );
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
