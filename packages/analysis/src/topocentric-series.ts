import type { Symmetric3, TopocentricFrame } from '@stillmark/geodesy';
import type { EpochSeries } from '@stillmark/records';

/** The epochs of a station in the axes at its origin: metres, in columns. */
export interface TopocentricSeries {
  readonly timesMs: Float64Array;
  readonly east: Float64Array;
  readonly north: Float64Array;
  readonly up: Float64Array;
  /** Formal variances in east, north and up, square metres. */
  readonly variance: { readonly east: Float64Array; readonly north: Float64Array; readonly up: Float64Array };
}

export const axes = ['east', 'north', 'up'] as const;
export type Axis = (typeof axes)[number];

/** Turns geocentric epochs into the axes of `frame`, with the variances of the turned covariance R C R'. */
export function toTopocentricSeries(series: EpochSeries, frame: TopocentricFrame): TopocentricSeries {
  const n = series.timesMs.length;
  const column = (): Float64Array => new Float64Array(n);
  const out = { timesMs: series.timesMs, east: column(), north: column(), up: column() };
  const variance = { east: column(), north: column(), up: column() };
  for (let i = 0; i < n; i++) {
    const point = frame.fromGeocentric({
      x: series.xyz[3 * i]!,
      y: series.xyz[3 * i + 1]!,
      z: series.xyz[3 * i + 2]!,
    });
    out.east[i] = point.east;
    out.north[i] = point.north;
    out.up[i] = point.up;
    const turned = frame.rotateCovariance([
      ...series.covariance.subarray(6 * i, 6 * i + 6),
    ] as unknown as Symmetric3);
    variance.east[i] = turned[0];
    variance.north[i] = turned[3];
    variance.up[i] = turned[5];
  }
  return { ...out, variance };
}
