import { satterthwaite, studentFactor } from '@stillmark/estimation';
import { apply, type ContrastCoefficients, type ReferenceContrast, type Weights } from './contrast.ts';
import type { StationNoise } from './noise.ts';
import { axes, type Axis } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

/** A displacement or a rate with its covariance and degrees of freedom, in millimetres (of a rate: in a stated time). */
export interface Movement {
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  readonly ee: number;
  readonly en: number;
  readonly nn: number;
  readonly uu: number;
  /** Of the horizontal: the smaller of those of east and north, which keeps the test from claiming more than it knows. */
  readonly horizontalFreedom: number;
  readonly upFreedom: number;
}

/**
 * The movement that weights on the windows give, as they stand (nothing is taken off).
 *
 * @param scale millimetres of the result for each metre of the weighted sum
 * @param coefficients those of the weights, where they are known already
 */
export function movement(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  noise: StationNoise,
  weights: Weights,
  scale = 1000,
  { a, b }: ContrastCoefficients = contrast.coefficients(weights),
): Movement {
  const [east, north, up] = axes.map((axis) => satterthwaite(noise.components[axis], a, b)) as [
    Moment,
    Moment,
    Moment,
  ];
  const s2 = scale * scale;
  return {
    east_mm: scale * apply(weights, windows.east),
    north_mm: scale * apply(weights, windows.north),
    up_mm: scale * apply(weights, windows.up),
    ee: s2 * east.variance,
    nn: s2 * north.variance,
    uu: s2 * up.variance,
    en: s2 * noise.eastNorth * Math.sqrt(east.variance * north.variance),
    horizontalFreedom: Math.min(east.degreesOfFreedom, north.degreesOfFreedom),
    upFreedom: up.degreesOfFreedom,
  };
}

type Moment = ReturnType<typeof satterthwaite>;

/**
 * Mean of some windows minus the committed reference position (the origin of the axes), steps that are no movement taken
 * off.
 *
 * The uncertainty is that of the mean minus the mean of the reference period, although the committed position, once given,
 * does not change when epochs of its period are delivered later.
 */
export function displacement(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  noise: StationNoise,
  now: { readonly from: number; readonly to: number },
): Movement {
  const mean = contrast.mean(now);
  const value = (axis: Axis): number =>
    1000 * (apply(mean, windows[axis]) - apply(mean, contrast.offsets(axis)));
  return {
    ...movement(windows, contrast, noise, contrast.tied(mean)),
    east_mm: value('east'),
    north_mm: value('north'),
    up_mm: value('up'),
  };
}

/** The part of a movement along an azimuth (radians, clockwise from north) and its variance. */
export function along(
  m: Pick<Movement, 'east_mm' | 'north_mm' | 'ee' | 'en' | 'nn'>,
  azimuth: number,
): { value: number; variance: number } {
  const [sin, cos] = [Math.sin(azimuth), Math.cos(azimuth)];
  return {
    value: sin * m.east_mm + cos * m.north_mm,
    variance: sin * sin * m.ee + 2 * sin * cos * m.en + cos * cos * m.nn,
  };
}

/** Half-widths of the confidence interval of every single window, in millimetres. */
export interface WindowBands extends Record<Axis, Float64Array> {
  readonly longitudinal?: Float64Array;
  readonly transverse?: Float64Array;
}

/**
 * @param longitudinal azimuth of the structure's longitudinal axis in radians, where it has one
 * @param start the first window whose band is wanted
 */
export function windowBands(
  contrast: ReferenceContrast,
  noise: StationNoise,
  confidence: number,
  longitudinal?: number,
  start = 0,
): WindowBands {
  const each = contrast.ofEachWindow(start);
  const moments = (axis: Axis): Moment[] =>
    each.map(({ a, b }) => satterthwaite(noise.components[axis], a, b));
  const [east, north, up] = [moments('east'), moments('north'), moments('up')];
  const half = (variance: number, freedom: number): number =>
    1000 * studentFactor(confidence, freedom) * Math.sqrt(variance);
  const single = (m: Moment[]): Float64Array =>
    Float64Array.from(m, ({ variance, degreesOfFreedom }) => half(variance, degreesOfFreedom));
  const bands = { east: single(east), north: single(north), up: single(up) };
  if (longitudinal === undefined) return bands;
  const turned = (azimuth: number): Float64Array =>
    Float64Array.from(east, (e, i) => {
      const n = north[i]!;
      const en = noise.eastNorth * Math.sqrt(e.variance * n.variance);
      const { variance } = along({ east_mm: 0, north_mm: 0, ee: e.variance, en, nn: n.variance }, azimuth);
      return half(variance, Math.min(e.degreesOfFreedom, n.degreesOfFreedom));
    });
  return { ...bands, longitudinal: turned(longitudinal), transverse: turned(longitudinal + Math.PI / 2) };
}

/** East, north and up of a movement with the half-widths of their intervals; millimetres. */
export function componentsOf(
  m: Movement,
  confidence: number,
): Record<Axis, { readonly value: number; readonly plusMinus: number }> {
  const half = (variance: number, freedom: number): number =>
    studentFactor(confidence, freedom) * Math.sqrt(variance);
  return {
    east: { value: m.east_mm, plusMinus: half(m.ee, m.horizontalFreedom) },
    north: { value: m.north_mm, plusMinus: half(m.nn, m.horizontalFreedom) },
    up: { value: m.up_mm, plusMinus: half(m.uu, m.upFreedom) },
  };
}
