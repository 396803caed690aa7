/**
 * Noise for invented series: white, flicker, and what repeats from one sidereal day to the next.
 *
 * Written from the definitions and apart from the packages, which are tested against what is planted here.
 */
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** A seeded source of random numbers. */
export interface Source {
  /** Uniform in [0, 1). */
  readonly uniform: () => number;
  /** Standard normal (Box and Muller 1958, Annals of Mathematical Statistics 29, 610-611). */
  readonly normal: () => number;
}

export function source(seed: number): Source {
  const rng = xoroshiro128plus(seed);
  const uniform = (): number => uniformFloat64(rng);
  return {
    uniform,
    normal: () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
  };
}

/** Such a source warmed up: its first numbers are alike for all small seeds. */
export function seeded(seed: number): Source {
  const random = source(seed);
  for (let i = 0; i < 40; i++) random.uniform();
  return random;
}

/** White noise plus flicker noise: white noise integrated by half (Hosking 1981), from the first value on. */
export function whitePlusFlicker(
  n: number,
  white: number,
  flicker: number,
  { normal }: Source,
): Float64Array {
  const innovations = Float64Array.from({ length: n }, () => flicker * normal());
  const h = new Float64Array(n).fill(1);
  for (let k = 1; k < n; k++) h[k] = (h[k - 1]! * (k - 0.5)) / k;
  return Float64Array.from({ length: n }, (_, i) => {
    let sum = white * normal();
    for (let k = 0; k <= i; k++) sum += h[k]! * innovations[i - k]!;
    return sum;
  });
}

const siderealDayMs = 86_164_090.5;

/** Harmonics of the sidereal day, and by how much each is smaller than the amplitude. */
export type Harmonics = readonly (readonly [harmonic: number, divisor: number])[];

/** What reflections far from an antenna make: slow over the day. */
export const slowPattern: Harmonics = [
  [1, 1],
  [2, 2],
  [3, 3],
  [5, 5],
];

/** A smooth pattern that repeats each sidereal day, as multipath does: a few harmonics with random phases. */
export function siderealPattern(
  amplitude: number,
  { uniform }: Source,
  harmonics: Harmonics = slowPattern,
): (timeMs: number) => number {
  const terms = harmonics.map(([harmonic, divisor]) => ({
    harmonic,
    phase: 2 * Math.PI * uniform(),
    size: amplitude / divisor,
  }));
  return (timeMs) =>
    terms.reduce(
      (sum, { harmonic, phase, size }) =>
        sum + size * Math.sin((2 * Math.PI * harmonic * timeMs) / siderealDayMs + phase),
      0,
    );
}
