/** What a processing makes of antennas: noise of each, wrong fixes, and the covariance that it claims. */
import { siderealPattern, whitePlusFlicker, type Harmonics, type Source } from './noise.ts';
import type { Vector } from './place.ts';

/** Vectors of one station in one stream: geocentric positions, and covariances as the processing claims them. */
export interface Vectors<Stream extends string = string> {
  readonly stream: Stream;
  readonly station: string;
  readonly timesMs: number[];
  readonly xyz: number[];
  readonly covariance: number[];
}

/** Standard deviation of what an antenna adds in one axis, in mm: white, flicker a step, and what repeats with the satellites. */
export interface Amplitudes {
  readonly white: number;
  readonly flicker: number;
  readonly sidereal: number;
}

export interface NoiseTruth {
  readonly horizontal: Amplitudes;
  readonly up: Amplitudes;
  /** How what repeats with the satellites goes through a day; slowly unless said. */
  readonly pattern?: Harmonics;
}

/** What an antenna adds to every vector, mm. */
export interface AntennaNoise {
  readonly east: Float64Array;
  readonly north: Float64Array;
  readonly up: Float64Array;
}

export function antennaNoise(
  n: number,
  stepMs: number,
  { horizontal, up, pattern }: NoiseTruth,
  random: Source,
): AntennaNoise {
  const axis = ({ white, flicker, sidereal }: Amplitudes): Float64Array => {
    const repeated = siderealPattern(sidereal, random, pattern);
    return whitePlusFlicker(n, white, flicker, random).map((v, i) => v + repeated(i * stepMs));
  };
  return { east: axis(horizontal), north: axis(horizontal), up: axis(up) };
}

export interface Fault {
  readonly east: number;
  readonly north: number;
  readonly up: number;
  /** What the processing multiplies its claimed deviation with. */
  readonly stretch: number;
}

/** Now and then a wrong fix, of which the processing does not know, or a float solution, of which it half knows. */
export function faultOf({ uniform, normal }: Source): Fault {
  const chance = uniform();
  if (chance < 0.003) {
    const [size, turn] = [60 + 200 * uniform(), 2 * Math.PI * uniform()];
    return { east: size * Math.cos(turn), north: size * Math.sin(turn), up: 0.7 * size, stretch: 1 };
  }
  if (chance < 0.007) return { east: 25 * normal(), north: 25 * normal(), up: 50 * normal(), stretch: 5 };
  return { east: 0, north: 0, up: 0, stretch: 1 };
}

/**
 * Appends the covariance that a processing claims, in geocentric axes: too small, as it usually is.
 *
 * @param s multiplies the white deviations of an antenna
 */
export function pushClaimed(
  out: number[],
  { east, north, up }: { readonly east: Vector; readonly north: Vector; readonly up: Vector },
  { horizontal, up: vertical }: NoiseTruth,
  s: number,
): void {
  const h2 = ((s * horizontal.white) / 1000) ** 2;
  const u2 = ((s * vertical.white) / 1000) ** 2;
  for (const [i, j] of [
    [0, 0],
    [0, 1],
    [0, 2],
    [1, 1],
    [1, 2],
    [2, 2],
  ] as const)
    out.push(h2 * (east[i] * east[j] + north[i] * north[j]) + u2 * up[i] * up[j]);
}
