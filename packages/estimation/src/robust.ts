import { fail } from '@stillmark/problems';

/** Median of the values; for an even count the mean of the middle two. */
export function median(values: Float64Array): number {
  if (values.length === 0) fail('ESTIMATION_INPUT', 'the median of no values is not defined');
  const middle = values.length >> 1;
  // Of few values, and where one is no number, sorting is as good.
  if (values.length < fewValues || values.some(Number.isNaN)) return middleOf(values.slice().sort());
  const copy = values.slice();
  const upper = selectInPlace(copy, middle);
  // Zeros have two signs, which only sorting tells apart.
  if (upper === 0) return middleOf(copy.sort());
  if (copy.length % 2 === 1) return upper;
  let lower = copy[0]!;
  for (let i = 1; i < middle; i++) lower = Math.max(lower, copy[i]!);
  return (lower + upper) / 2;
}

const fewValues = 32;

/**
 * Puts the value that would stand at index `k` of the sorted values there, none larger before it and none smaller behind it (Hoare 1961,
 * Communications of the ACM 4, 321-322), which takes a time proportional to their number.
 */
function selectInPlace(values: Float64Array, k: number): number {
  let [low, high] = [0, values.length - 1];
  while (low < high) {
    const [a, b, c] = [values[low]!, values[(low + high) >> 1]!, values[high]!];
    const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
    let [i, j] = [low, high];
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const held = values[i]!;
      values[i++] = values[j]!;
      values[j--] = held;
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return values[k]!;
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
    if (width % 2 === 1 && scattersBy(sorted, centre, (Math.abs(deviation) / (limit * madToSigma)) * above))
      continue;
    const sigma = Math.max(floor, madToSigma * medianDeviation(sorted, centre));
    if (Math.abs(deviation) > limit * sigma) side[i] = Math.sign(deviation);
  }
  return side;
}

/** A little more than one, against the rounding of a few operations. */
const above = 1 + 1e-12;

/**
 * True where the median of |value - centre| is known to be no less than `size` without its being computed: no more than half of the values,
 * an odd number of them, are nearer. False says nothing.
 */
function scattersBy(sorted: Float64Array, centre: number, size: number): boolean {
  const from = lowerBound(sorted, centre - size);
  if (from > 0 && centre - sorted[from - 1]! < size) return false;
  const to = from + (sorted.length >> 1);
  return to >= sorted.length || sorted[to]! - centre >= size;
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
