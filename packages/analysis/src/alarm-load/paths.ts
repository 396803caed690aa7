import { flickerD, powerLawResponse } from '@stillmark/estimation';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** A run of unit white noise and of unit flicker noise. */
export interface UnitPath {
  readonly white: Float64Array;
  readonly flicker: Float64Array;
}

/**
 * Seeded runs of unit noise: the same for every station and every candidate, which then differ by what they are and not by chance.
 *
 * Normal numbers by Box and Muller (1958), Annals of Mathematical Statistics 29, 610-611; flicker noise is white noise integrated by half
 * (Hosking 1981), as the covariance of `ReferenceContrast` has it.
 */
export function unitPaths(seed: number, runs: number, n: number): UnitPath[] {
  const rng = xoroshiro128plus(seed);
  // The first numbers of neighbouring seeds are alike.
  for (let k = 0; k < 32; k++) rng.next();
  let kept = Number.NaN;
  const normal = (): number => {
    if (!Number.isNaN(kept)) {
      const value = kept;
      kept = Number.NaN;
      return value;
    }
    const r = Math.sqrt(-2 * Math.log(1 - uniformFloat64(rng)));
    const angle = 2 * Math.PI * uniformFloat64(rng);
    kept = r * Math.sin(angle);
    return r * Math.cos(angle);
  };
  const h = powerLawResponse(n, flickerD);
  return Array.from({ length: runs }, () => {
    const white = Float64Array.from({ length: n }, normal);
    const innovations = Float64Array.from({ length: n }, normal);
    const flicker = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let k = 0; k <= i; k++) sum += h[k]! * innovations[i - k]!;
      flicker[i] = sum;
    }
    return { white, flicker };
  });
}
