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
 */
export function hampel(values: Float64Array, half: number, limit: number, floor: number): Int8Array {
  const n = values.length;
  const side = new Int8Array(n);
  const width = Math.min(n, 2 * half + 1);
  if (width < 5) return side;
  for (let i = 0; i < n; i++) {
    const from = Math.min(Math.max(0, i - half), n - width);
    const around = values.subarray(from, from + width);
    const centre = median(around);
    const sigma = Math.max(floor, madToSigma * median(around.map((v) => Math.abs(v - centre))));
    const deviation = values[i]! - centre;
    if (Math.abs(deviation) > limit * sigma) side[i] = Math.sign(deviation);
  }
  return side;
}
