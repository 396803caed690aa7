/**
 * The six different elements of a symmetric 3 x 3 matrix, in the order xx, xy, xz, yy, yz, zz.
 * Whether the axes are geocentric or topocentric is said where it is used.
 */
export type Symmetric3 = readonly [number, number, number, number, number, number];

/**
 * All epochs of one station in one stream, in columns, in ascending order of time.
 *
 * Positions are geocentric (X, Y, Z) in metres in the stream's frame; covariances are in square metres in the
 * same axes, as the processing stated them (formal, usually optimistic).
 */
export interface EpochSeries {
  readonly stream: string;
  readonly station: string;
  /** Milliseconds of UTC since 1970, n values. */
  readonly timesMs: Float64Array;
  /** X, Y, Z of each epoch, 3 n values. */
  readonly xyz: Float64Array;
  /** xx, xy, xz, yy, yz, zz of each epoch, 6 n values. */
  readonly covariance: Float64Array;
}

/** One epoch as a reader of files hands it over. */
export interface EpochRow {
  readonly stream: string;
  readonly station: string;
  readonly timeMs: number;
  readonly x: number;
  readonly y: number;
  readonly z: number;
  readonly covariance: Symmetric3;
}

/** One reading of a sensor as a reader of files hands it over, in the unit of its project file. */
export interface ReadingRow {
  readonly sensor: string;
  readonly timeMs: number;
  readonly value: number;
}

/** Readings of one sensor in ascending order of time. */
export interface ReadingSeries {
  /** Milliseconds of UTC since 1970. */
  readonly timesMs: Float64Array;
  readonly values: Float64Array;
}
