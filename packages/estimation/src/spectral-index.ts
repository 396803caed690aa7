/** The slope of a spectrum: power goes as frequency to the power of minus this. */
export interface SpectralIndex {
  readonly mean: number;
  /** The middle 90 % of what the data leave possible. */
  readonly low: number;
  readonly high: number;
}

const shares = 40;
const indices = 41;
/** From white noise to a random walk, and a little beyond. */
const largest = 2.4;

/**
 * Index of the power-law part of white plus power-law noise, by Whittle's likelihood of a periodogram: the sum of ln S + I / S with
 * S = s (white + power |2 sin(pi f d)|^-index), the scale s at its best. White part and index are uniform before the data; where the noise
 * is nearly all white the index stays open, and the interval says so.
 *
 * Whittle (1953), Arkiv foer Matematik 2, 423-434; Hosking (1981) for the spectrum.
 *
 * @param frequencies cycles in a unit of time, without those that the terms of a fit have taken (the lowest)
 * @param density of the residuals there
 * @param spacing of the observations in that unit
 */
export function spectralIndex(
  frequencies: ArrayLike<number>,
  density: ArrayLike<number>,
  spacing: number,
): SpectralIndex {
  const n = frequencies.length;
  const logs = Float64Array.from(frequencies, (f) => Math.log(2 * Math.sin(Math.PI * f * spacing)));
  const costs: { index: number; cost: number }[] = [];
  const shape = new Float64Array(n);
  for (let k = 0; k < indices; k++) {
    const index = (largest * k) / (indices - 1);
    // Of one variance over these frequencies, so that shares are of the same thing for every index.
    let sum = 0;
    for (let i = 0; i < n; i++) sum += shape[i] = Math.exp(-index * logs[i]!);
    for (let j = 0; j < shares; j++) {
      const share = (j + 0.5) / shares;
      let [total, logSum] = [0, 0];
      for (let i = 0; i < n; i++) {
        const s = 1 - share + (share * n * shape[i]!) / sum;
        total += density[i]! / s;
        logSum += Math.log(s);
      }
      costs.push({ index, cost: n * Math.log(total / n) + logSum });
    }
  }
  const least = costs.reduce((m, { cost }) => Math.min(m, cost), Number.POSITIVE_INFINITY);
  const weights = new Float64Array(indices);
  costs.forEach(({ cost }, i) => (weights[Math.floor(i / shares)]! += Math.exp(least - cost)));
  const whole = weights.reduce((s, w) => s + w, 0);
  const at = (k: number): number => (largest * k) / (indices - 1);
  const quantile = (part: number): number => {
    let sum = 0;
    for (let k = 0; k < indices; k++) if ((sum += weights[k]!) >= part * whole) return at(k);
    return largest;
  };
  return {
    mean: weights.reduce((s, w, k) => s + w * at(k), 0) / whole,
    low: quantile(0.05),
    high: quantile(0.95),
  };
}
