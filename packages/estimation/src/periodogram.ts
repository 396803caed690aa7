/**
 * Periodograms of series with the same gaps (Lomb 1976; Scargle 1982, The Astrophysical Journal 263, 835-853), as densities: of white
 * noise with variance v sampled every d it is 2 v d on average, and its integral over the frequencies is v.
 *
 * @param times in any unit
 * @param series values about their mean, each as many as there are times
 * @param frequencies cycles in the unit of the times
 * @param spacing usual time between two values
 * @returns of each series a density for each frequency: square of the values' unit times the unit of time
 */
export function periodograms(
  times: Float64Array,
  series: readonly Float64Array[],
  frequencies: Float64Array,
  spacing: number,
): Float64Array[] {
  const n = times.length;
  const start = times[0] ?? 0;
  const out = series.map(() => new Float64Array(frequencies.length));
  const c = new Float64Array(n);
  const s = new Float64Array(n);
  frequencies.forEach((frequency, k) => {
    const omega = 2 * Math.PI * frequency;
    let [sine, cosine] = [0, 0];
    for (let i = 0; i < n; i++) {
      const angle = omega * (times[i]! - start);
      c[i] = Math.cos(angle);
      s[i] = Math.sin(angle);
      sine += 2 * s[i]! * c[i]!;
      cosine += c[i]! * c[i]! - s[i]! * s[i]!;
    }
    // Turned so that sine and cosine are orthogonal at these times.
    const shift = Math.atan2(sine, cosine) / 2;
    const [cs, sn] = [Math.cos(shift), Math.sin(shift)];
    let [cc, ss] = [0, 0];
    for (let i = 0; i < n; i++) {
      const [c0, s0] = [c[i]!, s[i]!];
      c[i] = c0 * cs + s0 * sn;
      s[i] = s0 * cs - c0 * sn;
      cc += c[i]! * c[i]!;
      ss += s[i]! * s[i]!;
    }
    series.forEach((values, a) => {
      let [xc, xs] = [0, 0];
      for (let i = 0; i < n; i++) {
        xc += values[i]! * c[i]!;
        xs += values[i]! * s[i]!;
      }
      // At half the sampling rate one of the two vanishes.
      out[a]![k] = spacing * ((cc > 1e-9 * n ? (xc * xc) / cc : 0) + (ss > 1e-9 * n ? (xs * xs) / ss : 0));
    });
  });
  return out;
}

/**
 * Density of white plus power-law noise on a grid, as {@link periodograms} gives it on average: 2 d (white + power |2 sin(pi f d)|^-2d')
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
