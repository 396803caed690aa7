import {
  confidenceFactorEstimated,
  detectableNoncentrality,
  fP,
  holmAdjust,
  satterthwaite,
  studentFactor,
  studentP,
} from '@stillmark/estimation';
import { degrees, errorEllipse } from '@stillmark/geodesy';
import type { DisplacementStatement, Span, StatementSettings } from '@stillmark/records';
import type { ReferenceContrast, WindowRange } from './contrast.ts';
import type { StationNoise } from './noise.ts';
import { axes, type Axis } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

/** A displacement with its covariance and degrees of freedom, before it is judged together with the others. Millimetres. */
export interface Displacement {
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

/** Mean of the windows of now minus the committed reference position (the origin of the axes), in millimetres. */
export function displacement(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  noise: StationNoise,
  now: WindowRange,
): Displacement {
  const { a, b } = contrast.of(now);
  const mean = (axis: Axis): number =>
    windows[axis].subarray(now.from, now.to).reduce((s, v) => s + v, 0) / (now.to - now.from);
  const [east, north, up] = axes.map((axis) => satterthwaite(noise.components[axis], a, b)) as [
    Moment,
    Moment,
    Moment,
  ];
  return {
    east_mm: 1000 * mean('east'),
    north_mm: 1000 * mean('north'),
    up_mm: 1000 * mean('up'),
    ee: 1e6 * east.variance,
    nn: 1e6 * north.variance,
    uu: 1e6 * up.variance,
    en: 1e6 * noise.eastNorth * Math.sqrt(east.variance * north.variance),
    horizontalFreedom: Math.min(east.degreesOfFreedom, north.degreesOfFreedom),
    upFreedom: up.degreesOfFreedom,
  };
}

type Moment = ReturnType<typeof satterthwaite>;

/** Half-widths of the confidence interval of every single window, per axis, in millimetres. */
export function windowBands(
  contrast: ReferenceContrast,
  noise: StationNoise,
  confidence: number,
): Record<Axis, Float64Array> {
  const each = contrast.ofEachWindow();
  const half = (axis: Axis): Float64Array =>
    Float64Array.from(each, ({ a, b }) => {
      const { variance, degreesOfFreedom } = satterthwaite(noise.components[axis], a, b);
      return 1000 * studentFactor(confidence, degreesOfFreedom) * Math.sqrt(variance);
    });
  return { east: half('east'), north: half('north'), up: half('up') };
}

/** Below this the quantiles are so wide that a figure would only look like one. */
export const leastFreedom = 2;

export interface Judged {
  readonly displacement: Displacement;
  readonly window: Span & { readonly epochs: number; readonly windows: number };
  readonly noise: StationNoise;
}

/**
 * Statements of all stations, tested together: horizontal (F test, two dimensions) and up (t test) of each are one family,
 * so that any still network is called moved with at most `familySignificance` (Holm 1979).
 *
 * The minimal detectable displacement is that of the strictest step of the same family, significance divided by the
 * number of tests: what is smaller could have been there without being found in more than 1 - power of cases.
 */
export function judgeTogether(
  stations: readonly Judged[],
  settings: StatementSettings,
): DisplacementStatement[] {
  const horizontals = stations.map(({ displacement: d }) => horizontalTest(d));
  const tests = stations.flatMap(({ displacement: d }, i) => [
    horizontals[i]!.p,
    studentP(d.up_mm / Math.sqrt(d.uu), d.upFreedom),
  ]);
  const adjusted = holmAdjust(tests);
  const strictest = settings.familySignificance / Math.max(1, tests.length);
  return stations.map(({ displacement: d, window, noise }, i) => {
    const ellipse = errorEllipse(d.ee, d.en, d.nn);
    const factor = confidenceFactorEstimated(2, settings.confidence, d.horizontalFreedom);
    const azimuth = Math.atan2(d.east_mm, d.north_mm);
    const [sin, cos] = [Math.sin(azimuth), Math.cos(azimuth)];
    const along = Math.sqrt(sin * sin * d.ee + 2 * sin * cos * d.en + cos * cos * d.nn);
    const detectable = (dimension: number, freedom: number): number =>
      Math.sqrt(detectableNoncentrality(strictest, settings.power, dimension, freedom));
    return {
      kind: 'displacement',
      window,
      east_mm: d.east_mm,
      north_mm: d.north_mm,
      up_mm: d.up_mm,
      covariance_mm2: { ee: d.ee, en: d.en, nn: d.nn, uu: d.uu },
      horizontal: {
        magnitude_mm: Math.hypot(d.east_mm, d.north_mm),
        azimuthDeg: (degrees(azimuth) + 360) % 360,
        plusMinus_mm: studentFactor(settings.confidence, d.horizontalFreedom) * along,
        degreesOfFreedom: d.horizontalFreedom,
        statistic: horizontals[i]!.statistic,
        p: tests[2 * i]!,
        pAdjusted: adjusted[2 * i]!,
        distinguishable: adjusted[2 * i]! <= settings.familySignificance,
        detectable_mm: detectable(2, d.horizontalFreedom) * ellipse.semiMajor,
        ellipse: {
          semiMajor_mm: factor * ellipse.semiMajor,
          semiMinor_mm: factor * ellipse.semiMinor,
          azimuthDeg: degrees(ellipse.azimuth),
        },
      },
      up: {
        value_mm: d.up_mm,
        plusMinus_mm: studentFactor(settings.confidence, d.upFreedom) * Math.sqrt(d.uu),
        degreesOfFreedom: d.upFreedom,
        p: tests[2 * i + 1]!,
        pAdjusted: adjusted[2 * i + 1]!,
        distinguishable: adjusted[2 * i + 1]! <= settings.familySignificance,
        detectable_mm: detectable(1, d.upFreedom) * Math.sqrt(d.uu),
      },
      noise: noise.record,
    };
  });
}

/** F = d' C^-1 d / 2 with the horizontal covariance. */
function horizontalTest(d: Displacement): { statistic: number; p: number } {
  const determinant = d.ee * d.nn - d.en * d.en;
  const quadratic =
    (d.nn * d.east_mm ** 2 - 2 * d.en * d.east_mm * d.north_mm + d.ee * d.north_mm ** 2) / determinant;
  const statistic = quadratic / 2;
  return { statistic, p: fP(statistic, 2, d.horizontalFreedom) };
}
