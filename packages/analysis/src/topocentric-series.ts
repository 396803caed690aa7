import type { TopocentricFrame } from '@stillmark/geodesy';
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
/** Something of each axis. */
export function perAxis<T>(of: (axis: Axis) => T): Record<Axis, T> {
  return { east: of('east'), north: of('north'), up: of('up') };
}

export type Axis = (typeof axes)[number];

/** Turns geocentric epochs into the axes of `frame`, with the variances of the turned covariance R C R'. */
export function toTopocentricSeries(series: EpochSeries, frame: TopocentricFrame): TopocentricSeries {
  const n = series.timesMs.length;
  const column = (): Float64Array => new Float64Array(n);
  const out = { timesMs: series.timesMs, east: column(), north: column(), up: column() };
  const variance = { east: column(), north: column(), up: column() };
  const rows = frame.axes;
  axes.forEach((axis, k) => {
    const [r1, r2, r3] = rows.slice(3 * k, 3 * k + 3) as [number, number, number];
    turn(series.xyz, frame.origin, [r1, r2, r3], out[axis]);
    const c = series.covariance;
    const into = variance[axis];
    for (let i = 0, j = 0; i < n; i++, j += 6) {
      into[i] =
        r1 * r1 * c[j]! +
        r2 * r2 * c[j + 3]! +
        r3 * r3 * c[j + 5]! +
        2 * (r1 * r2 * c[j + 1]! + r1 * r3 * c[j + 2]! + r2 * r3 * c[j + 4]!);
    }
  });
  return { ...out, variance };
}

/** Differences of points (three numbers each) from an origin along a direction. */
function turn(
  xyz: Float64Array,
  origin: TopocentricFrame['origin'],
  [r1, r2, r3]: readonly [number, number, number],
  into: Float64Array,
): void {
  for (let i = 0, j = 0; i < into.length; i++, j += 3)
    into[i] = r1 * (xyz[j]! - origin.x) + r2 * (xyz[j + 1]! - origin.y) + r3 * (xyz[j + 2]! - origin.z);
}
