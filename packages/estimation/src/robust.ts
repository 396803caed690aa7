import { fail } from '@stillmark/problems';

/** Median of the values; for an even count the mean of the middle two. */
export function median(values: Float64Array): number {
  if (values.length === 0) fail('ESTIMATION_INPUT', 'the median of no values is not defined');
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** Makes the median absolute deviation of normal data estimate their standard deviation: 1 / quantile(0.75). */
export const madToSigma = 1.4826022185056018;

/**
 * Hampel identifier: marks values further than `limit` robust standard deviations from the median of the
 * `2 half + 1` values around them (Davies and Gather 1993; Pearson 2002). At the ends the window is the nearest
 * full one. Where more than half of a window is one same value, `floor` is the least standard deviation assumed.
 *
 * The window is kept sorted while it slides, so that a value costs a search and a short move, not a sort.
 */
export function hampel(values: Float64Array, half: number, limit: number, floor: number): Int8Array {
  const n = values.length;
  const side = new Int8Array(n);
  const width = Math.min(n, 2 * half + 1);
  if (width < 5) return side;
  const sorted = values.slice(0, width).sort();
  for (let i = 0, from = 0; i < n; i++) {
    const next = Math.min(Math.max(0, i - half), n - width);
    if (next > from) {
      replace(sorted, values[from]!, values[from + width]!);
      from = next;
    }
    const centre = middleOf(sorted);
    const deviation = values[i]! - centre;
    // Most values need no more than this.
    if (Math.abs(deviation) <= limit * floor) continue;
    const sigma = Math.max(floor, madToSigma * medianDeviation(sorted, centre));
    if (Math.abs(deviation) > limit * sigma) side[i] = Math.sign(deviation);
  }
  return side;
}

function middleOf(sorted: Float64Array): number {
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** Takes one value out of a sorted array and puts another in. */
function replace(sorted: Float64Array, old: number, value: number): void {
  let i = lowerBound(sorted, old);
  for (; i + 1 < sorted.length && sorted[i + 1]! < value; i++) sorted[i] = sorted[i + 1]!;
  for (; i > 0 && sorted[i - 1]! > value; i--) sorted[i] = sorted[i - 1]!;
  sorted[i] = value;
}

function lowerBound(sorted: Float64Array, value: number): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Median of |value - centre|, by walking outward from the centre of the sorted values. */
function medianDeviation(sorted: Float64Array, centre: number): number {
  const n = sorted.length;
  let right = lowerBound(sorted, centre);
  let left = right - 1;
  let [previous, current] = [0, 0];
  for (let k = 0; k <= n >> 1; k++) {
    previous = current;
    const below = left >= 0 ? centre - sorted[left]! : Number.POSITIVE_INFINITY;
    const above = right < n ? sorted[right]! - centre : Number.POSITIVE_INFINITY;
    if (below <= above) {
      current = below;
      left--;
    } else {
      current = above;
      right++;
    }
  }
  return n % 2 === 1 ? current : (previous + current) / 2;
}
