/** Power of a series at some frequencies. */
export interface Spectrum {
  /** Cycles in the unit of the times. */
  readonly frequencies: Float64Array;
  /** One-sided density: its integral over the frequencies is the variance of white noise. Square of the values' unit times the unit of time. */
  readonly density: Float64Array;
}

/**
 * Periodogram of a series with gaps (Lomb 1976; Scargle 1982, The Astrophysical Journal 263, 835-853), as a density: of white noise
 * with variance v sampled every d it is 2 v d on average.
 *
 * @param times in any unit; @param values about their mean
 * @param spacing usual time between two values
 */
export function periodogram(
  times: Float64Array,
  values: Float64Array,
  frequencies: Float64Array,
  spacing: number,
): Spectrum {
  const n = times.length;
  const start = times[0] ?? 0;
  const density = frequencies.map((frequency) => {
    const omega = 2 * Math.PI * frequency;
    let [sine, cosine] = [0, 0];
    for (let i = 0; i < n; i++) {
      const angle = 2 * omega * (times[i]! - start);
      sine += Math.sin(angle);
      cosine += Math.cos(angle);
    }
    // Shifted so that sine and cosine are orthogonal at these times.
    const shift = Math.atan2(sine, cosine) / 2;
    let [xc, xs, cc, ss] = [0, 0, 0, 0];
    for (let i = 0; i < n; i++) {
      const angle = omega * (times[i]! - start) - shift;
      const [c, s] = [Math.cos(angle), Math.sin(angle)];
      xc += values[i]! * c;
      xs += values[i]! * s;
      cc += c * c;
      ss += s * s;
    }
    // At half the sampling rate one of the two vanishes.
    const power = (cc > 1e-9 * n ? (xc * xc) / cc : 0) + (ss > 1e-9 * n ? (xs * xs) / ss : 0);
    return spacing * power;
  });
  return { frequencies, density };
}

/**
 * Density of white plus power-law noise on a grid, as {@link periodogram} gives it on average: 2 d (white + power |2 sin(pi f d)|^-2d')
 * with d' half the spectral index (Hosking 1981, theorem 1).
 */
export function noiseDensity(
  { white, power, d }: { readonly white: number; readonly power: number; readonly d: number },
  frequency: number,
  spacing: number,
): number {
  return 2 * spacing * (white + power * (2 * Math.abs(Math.sin(Math.PI * frequency * spacing))) ** (-2 * d));
}

/**
 * Frequencies from one cycle in the span to less than half a cycle a step, evenly spread in octaves, never closer than the span tells apart.
 *
 * @param bands in an octave
 */
export function spectrumBands(
  span: number,
  spacing: number,
  bands: number,
): { low: number; high: number; frequencies: Float64Array }[] {
  const unit = 1 / span;
  const nyquist = 1 / (2 * spacing);
  const out: { low: number; high: number; frequencies: Float64Array }[] = [];
  // At half the sampling rate itself only one of the two waves is seen.
  const all = Math.ceil(nyquist / unit - 1e-9) - 1;
  for (let from = 1; from <= all;) {
    const to = Math.min(all, Math.max(from, Math.floor(from * 2 ** (1 / bands))));
    out.push({
      low: from * unit,
      high: to * unit,
      frequencies: Float64Array.from({ length: to - from + 1 }, (_, k) => (from + k) * unit),
    });
    from = to + 1;
  }
  return out;
}
