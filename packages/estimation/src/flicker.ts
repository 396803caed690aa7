/**
 * Impulse response of power-law noise of spectral index -2 d by fractional differencing: white noise filtered with
 * it is the noise, and the lower triangular Toeplitz matrix T built from it gives the covariance T T'.
 *
 * h(0) = 1, h(k) = h(k-1) (k - 1 + d) / k. Source: Hosking (1981), Biometrika 68, 165-176, equation 2.1; used for
 * geodetic series by Williams (2003), J. Geodesy 76, 483-494. Flicker noise has d = 1/2.
 */
export function powerLawResponse(n: number, d: number): Float64Array {
  const h = new Float64Array(n);
  if (n > 0) h[0] = 1;
  for (let k = 1; k < n; k++) h[k] = (h[k - 1]! * (k - 1 + d)) / k;
  return h;
}

export const flickerD = 0.5;

const yearMs = 365.25 * 86_400_000;

/**
 * Unit amplitude of flicker noise at a sampling interval, in the trade's unit of mm per year to the 1/4: a series
 * sampled every `stepMs` with amplitude b has covariance b^2 (step in years)^(1/2) T T' (Bos et al. 2008, equation 9
 * with spectral index -1).
 */
export function flickerStepFactor(stepMs: number): number {
  return (stepMs / yearMs) ** 0.25;
}

/** F[i][j] = (T T')[slots[i]][slots[j]] as a row-major square matrix, for observations at the given slots of a regular grid. */
export function flickerCovariance(slots: Int32Array, response: Float64Array): Float64Array {
  const n = slots.length;
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const a = slots[i]!;
      const b = slots[j]!;
      const overlap = Math.min(a, b);
      let sum = 0;
      for (let k = 0; k <= overlap; k++) sum += response[a - k]! * response[b - k]!;
      out[i * n + j] = sum;
      out[j * n + i] = sum;
    }
  }
  return out;
}
