import { fail } from '@stillmark/problems';
import { checkTriples, pointName } from '../arrays.ts';

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
  /** The rotation is the product of three rotations, not its first order: for older datums, whose angles are large. */
  readonly exact?: boolean;
  /** Point about which it is turned and scaled, metres (Molodensky-Badekas); the geocentre unless said. */
  readonly pivot_m?: readonly number[];
  /** The parameters hold at their epoch and at no other. */
  readonly timeSpecific?: boolean;
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
 * The transformation of an epoch: X' = P + T + (1 + D) R (X - P) with T, D and R carried from their reference epoch by their rates
 * and P the pivot, usually the geocentre. In the position vector convention R = I + [[0, -Rz, Ry], [Rz, 0, -Rx], [-Ry, Rx, 0]], or
 * Rx Ry Rz where the rotation is exact (in the coordinate frame convention its transpose, the axes turned about x first).
 *
 * Source: EPSG methods 1031 to 1034, 1053, 1056, 1061, 1063, 1065 and 1066 (IOGP 373-7-2). The IERS Conventions (2010), equations
 * 4.3 and 4.6, leave out D (R - I): less than a nanometre between frames of the ITRF, half a millimetre for an old datum.
 *
 * @param epoch decimal year of the coordinates; may be absent where the parameters have no rates
 * @throws GEODESY_EPOCH where rates are given and the epoch is not, or is no year, or is not that of time-specific parameters
 * @throws GEODESY_RANGE where a translation, rotation or pivot is not three finite numbers, or the scale is not finite
 */
export function atEpoch(parameters: HelmertParameters, epoch: number | undefined): Affine {
  const years = yearsSince(parameters, epoch);
  const carried = (values: readonly number[], rates: readonly number[] | undefined): Vector3 => {
    const [v, r] = [three(values), rates === undefined ? [0, 0, 0] : three(rates)];
    return v.map((value, i) => value + years * r[i]!) as unknown as Vector3;
  };
  const t = carried(parameters.translation_mm, parameters.translationRate_mm).map((v) => 1e-3 * v);
  const [rx, ry, rz] = carried(parameters.rotation_mas, parameters.rotationRate_mas).map(
    (v) => mas * v,
  ) as unknown as Vector3;
  const d = 1e-9 * (parameters.scale_ppb + years * (parameters.scaleRate_ppb ?? 0));
  if (!Number.isFinite(d)) fail('GEODESY_RANGE', `the scale is ${parameters.scale_ppb} ppb`);
  const forward = parameters.convention === 'position vector';
  const turned = parameters.exact
    ? turnedExactly(rx, ry, rz, forward)
    : smallTurn(forward ? [rx, ry, rz] : [-rx, -ry, -rz]);
  const s = scaled(turned, d);
  const moved = apply3(s, three(parameters.pivot_m ?? [0, 0, 0]));
  return { t: t.map((v, i) => v - moved[i]!) as unknown as Vector3, s };
}

function three(values: readonly number[]): Vector3 {
  if (values.length !== 3 || !values.every(Number.isFinite))
    fail('GEODESY_RANGE', `(${values.join(', ')}) are not three finite numbers`, { hint: '[x, y, z]' });
  return values as unknown as Vector3;
}

function smallTurn([rx, ry, rz]: Vector3): Matrix3 {
  return [0, -rz, ry, rz, 0, -rx, -ry, rx, 0];
}

/** Rx Ry Rz - I of the position vector convention, or its transpose. Nothing near one is subtracted. */
function turnedExactly(rx: number, ry: number, rz: number, forward: boolean): Matrix3 {
  const sign = forward ? 1 : -1;
  // cos - 1 without cancellation.
  const part = (angle: number): [s: number, c: number] => [
    sign * Math.sin(angle),
    -2 * Math.sin(angle / 2) ** 2,
  ];
  const [[sx, cx], [sy, cy], [sz, cz]] = [part(rx), part(ry), part(rz)];
  const x: Matrix3 = [0, 0, 0, 0, cx, -sx, 0, sx, cx];
  const y: Matrix3 = [cy, 0, sy, 0, 0, 0, -sy, 0, cy];
  const z: Matrix3 = [cz, -sz, 0, sz, cz, 0, 0, 0, 0];
  const [first, last] = forward ? [z, x] : [x, z];
  return product(last, product(y, first));
}

/** (I + A) (I + B) - I. */
function product(a: Matrix3, b: Matrix3): Matrix3 {
  const ab = times(a, b);
  return ab.map((v, i) => v + a[i]! + b[i]!) as unknown as Matrix3;
}

/** (1 + d) (I + S) - I. */
function scaled(s: Matrix3, d: number): Matrix3 {
  return s.map((v, i) => v + d * v + (i % 4 === 0 ? d : 0)) as unknown as Matrix3;
}

/** True for parameters that change with time, or hold at one epoch only. */
export function dependsOnTime(p: HelmertParameters): boolean {
  const rates = [...(p.translationRate_mm ?? []), ...(p.rotationRate_mas ?? []), p.scaleRate_ppb ?? 0];
  return p.timeSpecific === true || rates.some((rate) => rate !== 0);
}

/** A time-specific set is used within half a minute of its epoch: decimal years are printed with a few digits. */
const sameEpoch = 1.01e-6;

function yearsSince(p: HelmertParameters, epoch: number | undefined): number {
  if (p.timeSpecific) {
    checkEpoch(epoch);
    if (p.epoch === undefined || Math.abs(epoch - p.epoch) > sameEpoch)
      fail('GEODESY_EPOCH', `the parameters hold at ${p.epoch} only, not at ${epoch}`, {
        hint: `coordinates of ${p.epoch}; or a transformation of your own, with its source`,
      });
    return 0;
  }
  if (!dependsOnTime(p)) return 0;
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
  const st = apply3(second.s, first.t);
  return {
    t: [0, 1, 2].map((i) => first.t[i]! + second.t[i]! + st[i]!) as unknown as Vector3,
    s: product(second.s, first.s),
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

/**
 * Transforms points (X, Y, Z in turn) into `out`, which may be the same array. Nothing is allocated.
 *
 * @throws GEODESY_RANGE for arrays that are ragged, differ in length, or hold a value that is not finite
 */
export function applyAffine({ t, s }: Affine, xyz: Float64Array, out: Float64Array): void {
  checkTriples(xyz, out);
  checkFinite(xyz);
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

function checkFinite(xyz: Float64Array): void {
  for (let i = 0; i < xyz.length; i++) {
    if (!Number.isFinite(xyz[i]!))
      fail('GEODESY_RANGE', `coordinate ${(i % 3) + 1} is not finite${pointName(i, xyz.length)}`);
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
