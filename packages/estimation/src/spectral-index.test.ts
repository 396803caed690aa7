import { source } from '@stillmark/data/synthetic/noise.ts';
import { describe, expect, test } from 'vitest';
import { periodograms, powerLawResponse, spectralIndex } from './index.ts';

const n = 1096;
const times = Float64Array.from({ length: n }, (_, i) => i);
const frequencies = Float64Array.from({ length: n / 2 - 4 }, (_, k) => (k + 4) / n);

/** White noise and power-law noise of an index by Hosking's filter, written out here. */
function series(index: number, white: number, seed: number): Float64Array {
  const random = source(seed);
  const h = powerLawResponse(n, index / 2);
  const drawn = times.map(() => random.normal());
  return times.map((_, i) => {
    let sum = white * random.normal();
    for (let k = 0; k <= i; k++) sum += h[k]! * drawn[i - k]!;
    return sum;
  });
}
const indexOf = (values: Float64Array): ReturnType<typeof spectralIndex> => {
  const mean = values.reduce((s, v) => s + v, 0) / n;
  return spectralIndex(
    frequencies,
    periodograms(times, [values.map((v) => v - mean)], frequencies, 1)[0]!,
    1,
  );
};

describe('spectral index of three years of daily values', () => {
  test.each([0.6, 1, 1.8])(
    'an index of %s is found, and its interval holds it in nine of ten cases',
    (index) => {
      let [sum, held] = [0, 0];
      const trials = 30;
      for (let seed = 1; seed <= trials; seed++) {
        const { mean, low, high } = indexOf(series(index, 1, seed));
        sum += mean / trials;
        if (low <= index + 1e-9 && index - 1e-9 <= high) held++;
      }
      // A mean over what is possible leans to the middle of it.
      expect(Math.abs(sum - index)).toBeLessThan(0.2);
      // Nine of ten, within what thirty trials tell (three standard deviations).
      expect(held).toBeGreaterThanOrEqual(22);
    },
  );

  test('of white noise the index stays open', () => {
    const { low, high } = indexOf(series(1, 1e4, 3));
    expect(high - low).toBeGreaterThan(1);
  });
});
