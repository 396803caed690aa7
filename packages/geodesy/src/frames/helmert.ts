import { fail } from '@stillmark/problems';

/** Which way the published rotations turn: the vector, or the axes (opposite sign). It is never guessed. */
export type RotationConvention = 'position vector' | 'coordinate frame';

/** Parameters of a 7- or 14-parameter transformation as they are published. */
export interface HelmertParameters {
  readonly convention: RotationConvention;
  /** Reference epoch of the parameters, decimal year; with it the rates are needed. */
  readonly epoch?: number;
  readonly translation_mm: readonly number[];
  readonly scale_ppb: number;
  readonly rotation_mas: readonly number[];
  readonly translationRate_mm?: readonly number[];
  readonly scaleRate_ppb?: number;
  readonly rotationRate_mas?: readonly number[];
}

/**
 * A small affine map of geocentric coordinates in metres, X' = X + t + S X. The difference from the identity is kept, not the
 * matrix: of coordinates of millions of metres a matrix near one would lose the last digits.
 */
export interface Affine {
  /** t, metres. */
  readonly t: Vector3;
  /** S, row-major. */
  readonly s: Matrix3;
}

export type Vector3 = readonly [number, number, number];
export type Matrix3 = readonly [number, number, number, number, number, number, number, number, number];

export const identity: Affine = { t: [0, 0, 0], s: [0, 0, 0, 0, 0, 0, 0, 0, 0] };

/** One milliarcsecond in radians. */
export const mas = Math.PI / 180 / 3_600_000;

/**
 * The transformation of an epoch: X' = X + T + D X + R X with T, D and R carried from their reference epoch by their rates,
 * R = [[0, -Rz, Ry], [Rz, 0, -Rx], [-Ry, Rx, 0]] in the position vector convention.
 *
 * Source: IERS Conventions (2010), equations 4.3 and 4.6; EPSG methods 1053 and 1056 (IOGP 373-7-2).
 *
 * @param epoch decimal year of the coordinates; may be absent where the parameters have no rates
 * @throws GEODESY_EPOCH where rates are given and the epoch is not, or is no year
 */
export function atEpoch(parameters: HelmertParameters, epoch: number | undefined): Affine {
  const years = yearsSince(parameters, epoch);
  const carried = (value: number, rate: number | undefined): number => value + years * (rate ?? 0);
  const three = (values: readonly number[], rates: readonly number[] | undefined, unit: number): Vector3 => {
    if (values.length !== 3 || (rates !== undefined && rates.length !== 3))
      fail('GEODESY_RANGE', 'a translation or rotation has three components', { hint: '[x, y, z]' });
    return values.map((v, i) => unit * carried(v, rates?.[i])) as unknown as Vector3;
  };
  const t = three(parameters.translation_mm, parameters.translationRate_mm, 1e-3);
  const sign = parameters.convention === 'position vector' ? 1 : -1;
  const [rx, ry, rz] = three(parameters.rotation_mas, parameters.rotationRate_mas, sign * mas);
  const d = 1e-9 * carried(parameters.scale_ppb, parameters.scaleRate_ppb);
  return { t, s: [d, -rz, ry, rz, d, -rx, -ry, rx, d] };
}

function yearsSince(p: HelmertParameters, epoch: number | undefined): number {
  const rates = [
    ...(p.translationRate_mm ?? []),
    ...(p.rotationRate_mas ?? []),
    ...(p.scaleRate_ppb === undefined ? [] : [p.scaleRate_ppb]),
  ];
  if (rates.every((rate) => rate === 0)) return 0;
  if (p.epoch === undefined)
    return fail('GEODESY_EPOCH', 'the parameters have rates and no reference epoch', {
      hint: 'the epoch at which the parameters are given, as a decimal year',
    });
  checkEpoch(epoch);
  return epoch - p.epoch;
}

/** @throws GEODESY_EPOCH where the epoch is missing or is not a year of geodesy */
export function checkEpoch(epoch: number | undefined): asserts epoch is number {
  if (epoch === undefined || !Number.isFinite(epoch) || epoch < 1900 || epoch > 2200) {
    fail(
      'GEODESY_EPOCH',
      epoch === undefined ? 'coordinates in a dynamic frame need an epoch' : `${epoch} is not an epoch`,
      { hint: 'a decimal year, such as 2026.4' },
    );
  }
}

/** First one map, then another, as one: exact, not to first order. */
export function compose(first: Affine, second: Affine): Affine {
  const ss = times(second.s, first.s);
  const st = apply3(second.s, first.t);
  return {
    t: [0, 1, 2].map((i) => first.t[i]! + second.t[i]! + st[i]!) as unknown as Vector3,
    s: first.s.map((v, i) => v + second.s[i]! + ss[i]!) as unknown as Matrix3,
  };
}

/**
 * The exact inverse: -(I + S)^-1 S and -(I + S)^-1 t, so that there and back is the point again to the last bits.
 *
 * @throws GEODESY_RANGE where the map has no inverse
 */
export function inverse({ t, s }: Affine): Affine {
  const inverted = invert3([s[0] + 1, s[1], s[2], s[3], s[4] + 1, s[5], s[6], s[7], s[8] + 1]);
  const negated = inverted.map((v) => -v) as unknown as Matrix3;
  return { t: apply3(negated, t), s: times(negated, s) };
}

/** Transforms points (X, Y, Z in turn) into `out`, which may be the same array. Nothing is allocated. */
export function applyAffine({ t, s }: Affine, xyz: Float64Array, out: Float64Array): void {
  checkPoints(xyz, out);
  const [s0, s1, s2, s3, s4, s5, s6, s7, s8] = s;
  const [t0, t1, t2] = t;
  for (let i = 0; i < xyz.length; i += 3) {
    const [x, y, z] = [xyz[i]!, xyz[i + 1]!, xyz[i + 2]!];
    out[i] = x + (t0 + s0 * x + s1 * y + s2 * z);
    out[i + 1] = y + (t1 + s3 * x + s4 * y + s5 * z);
    out[i + 2] = z + (t2 + s6 * x + s7 * y + s8 * z);
  }
}

/** C' = M C M' with M = I + S, for covariances xx, xy, xz, yy, yz, zz in turn. Nothing is allocated. */
export function applyToCovariance({ s }: Affine, covariance: Float64Array, out: Float64Array): void {
  if (covariance.length % 6 !== 0 || out.length !== covariance.length)
    fail('GEODESY_RANGE', 'covariances come in sixes: xx, xy, xz, yy, yz, zz of each point');
  const m0 = 1 + s[0];
  const m4 = 1 + s[4];
  const m8 = 1 + s[8];
  const [, m1, m2, m3, , m5, m6, m7] = s;
  for (let i = 0; i < covariance.length; i += 6) {
    const xx = covariance[i]!;
    const xy = covariance[i + 1]!;
    const xz = covariance[i + 2]!;
    const yy = covariance[i + 3]!;
    const yz = covariance[i + 4]!;
    const zz = covariance[i + 5]!;
    // Rows of M C, then products with the rows of M.
    const a0 = m0 * xx + m1 * xy + m2 * xz;
    const a1 = m0 * xy + m1 * yy + m2 * yz;
    const a2 = m0 * xz + m1 * yz + m2 * zz;
    const b0 = m3 * xx + m4 * xy + m5 * xz;
    const b1 = m3 * xy + m4 * yy + m5 * yz;
    const b2 = m3 * xz + m4 * yz + m5 * zz;
    const c0 = m6 * xx + m7 * xy + m8 * xz;
    const c1 = m6 * xy + m7 * yy + m8 * yz;
    const c2 = m6 * xz + m7 * yz + m8 * zz;
    out[i] = a0 * m0 + a1 * m1 + a2 * m2;
    out[i + 1] = a0 * m3 + a1 * m4 + a2 * m5;
    out[i + 2] = a0 * m6 + a1 * m7 + a2 * m8;
    out[i + 3] = b0 * m3 + b1 * m4 + b2 * m5;
    out[i + 4] = b0 * m6 + b1 * m7 + b2 * m8;
    out[i + 5] = c0 * m6 + c1 * m7 + c2 * m8;
  }
}

/** @throws GEODESY_RANGE for arrays that are ragged, differ in length, or hold a value that is not finite */
export function checkPoints(xyz: Float64Array, out: Float64Array): void {
  if (xyz.length % 3 !== 0 || out.length !== xyz.length)
    fail('GEODESY_RANGE', `${xyz.length} numbers are no points`, { hint: 'three numbers for each point' });
  for (let i = 0; i < xyz.length; i++) {
    if (!Number.isFinite(xyz[i]!))
      fail('GEODESY_RANGE', `coordinate ${(i % 3) + 1} of point ${Math.floor(i / 3) + 1} is not finite`);
  }
}

function apply3(m: Matrix3, v: Vector3): Vector3 {
  return [0, 3, 6].map((r) => m[r]! * v[0] + m[r + 1]! * v[1] + m[r + 2]! * v[2]) as unknown as Vector3;
}

function times(a: Matrix3, b: Matrix3): Matrix3 {
  return Array.from({ length: 9 }, (_, k) => {
    const [r, c] = [3 * Math.floor(k / 3), k % 3];
    return a[r]! * b[c]! + a[r + 1]! * b[c + 3]! + a[r + 2]! * b[c + 6]!;
  }) as unknown as Matrix3;
}

function invert3([a, b, c, d, e, f, g, h, i]: Matrix3): Matrix3 {
  const determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  if (!(Math.abs(determinant) > 1e-12)) fail('GEODESY_RANGE', 'the transformation has no inverse');
  return [
    e * i - f * h,
    c * h - b * i,
    b * f - c * e,
    f * g - d * i,
    a * i - c * g,
    c * d - a * f,
    d * h - e * g,
    b * g - a * h,
    a * e - b * d,
  ].map((v) => v / determinant) as unknown as Matrix3;
}
