import { fail } from '@stillmark/problems';
import { madToSigma, median } from './robust.ts';

export interface MedianTrend {
  /** Per unit of time. */
  readonly slope: number;
  readonly standardError: number;
  /** Slopes that stayed after trimming. */
  readonly pairs: number;
  readonly kind: 'yearly pairs' | 'all pairs';
}

/** Pairs of dates count as a year apart within this, in years (Blewitt et al. 2016). */
const yearSlack = 0.001;
/** Slopes further from the median than so many robust standard deviations are left out once. */
const trimAt = 2;
const fewest = 10;

/**
 * Robust trend: the median of the slopes of pairs of values one year apart, which neither a season nor a few steps disturb.
 *
 * Each value is paired with the one a year later, or where there is none with the next later one that is free; the same is done
 * backward in time. Slopes beyond two robust standard deviations of their median are left out and the median is taken again. Its
 * standard error is 1.2533 sigma / sqrt(N/4), times 3 for the memory of the noise. Source: Blewitt, Kreemer, Hammond and Gazeaux
 * (2016), J. Geophys. Res. Solid Earth 121, 2054-2068, section 2.
 *
 * Of less than a year and a tenth the median of all pairs is taken (Theil 1950, Sen 1968), with the same error formula, which then
 * is a rough one.
 *
 * @param years times in years, ascending
 * @throws ESTIMATION_INPUT for fewer than ten values
 */
export function medianTrend(years: Float64Array, values: Float64Array): MedianTrend {
  const n = years.length;
  if (n < fewest) fail('ESTIMATION_INPUT', `${n} values are too few for a robust trend`);
  const long = years[n - 1]! - years[0]! >= 1.1;
  const slopes = long ? yearlySlopes(years, values) : allSlopes(years, values);
  if (slopes.length < fewest)
    fail('ESTIMATION_INPUT', `${slopes.length} pairs of values are too few for a robust trend`);
  const centre = median(slopes);
  const sigma = spread(slopes, centre);
  const kept = slopes.filter((v) => Math.abs(v - centre) <= trimAt * sigma);
  const trimmed = kept.length >= fewest ? kept : slopes;
  const slope = median(trimmed);
  // Slopes share values: a quarter of them counts; and 3 for what lasts in the noise.
  const standardError = (3 * Math.sqrt(Math.PI / 2) * spread(trimmed, slope)) / Math.sqrt(trimmed.length / 4);
  return { slope, standardError, pairs: trimmed.length, kind: long ? 'yearly pairs' : 'all pairs' };
}

function spread(values: Float64Array, centre: number): number {
  return madToSigma * median(values.map((v) => Math.abs(v - centre)));
}

function yearlySlopes(years: Float64Array, values: Float64Array): Float64Array {
  const backwardYears = years.map((t) => -t).reverse();
  const backwardValues = values.slice().reverse();
  return Float64Array.from([
    ...pairedSlopes(years, values, 1),
    ...pairedSlopes(backwardYears, backwardValues, -1),
  ]);
}

/** Slopes of pairs in one direction of time; `sign` turns those of reversed time back. */
function pairedSlopes(years: Float64Array, values: Float64Array, sign: number): number[] {
  const n = years.length;
  const slopes: number[] = [];
  const taken = new Uint8Array(n);
  for (let i = 0, j = 0; i < n; i++) {
    while (j < n && years[j]! - years[i]! < 1 - yearSlack) j++;
    // The next one that is free where none is exactly a year later.
    let partner = j;
    while (partner < n && taken[partner]) partner++;
    if (partner >= n) break;
    taken[partner] = 1;
    slopes.push((sign * (values[partner]! - values[i]!)) / (years[partner]! - years[i]!));
  }
  return slopes;
}

/** Of more values than this every so many are paired: the median of a million slopes says no less than that of ten. */
const mostValues = 1500;

function allSlopes(years: Float64Array, values: Float64Array): Float64Array {
  const stride = Math.ceil(years.length / mostValues);
  const slopes: number[] = [];
  for (let i = 0; i < years.length; i += stride)
    for (let j = i + stride; j < years.length; j += stride)
      if (years[j]! > years[i]!) slopes.push((values[j]! - values[i]!) / (years[j]! - years[i]!));
  return Float64Array.from(slopes);
}
