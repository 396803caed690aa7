import { fail } from '@stillmark/problems';

/** xx, xy, xz, yy, yz, zz of a symmetric 3 x 3 matrix. */
export type Symmetric3 = readonly [number, number, number, number, number, number];

/**
 * Slack for rounding in printed covariances, on the scale of correlations (where every variance is 1): three
 * printed digits make a determinant that should be 0 come out negative by about this much.
 */
const correlationSlack = 2e-3;

/**
 * What is wrong with a 3 x 3 covariance, or undefined where it is positive semi-definite.
 *
 * @param names of the six elements, for what is said
 *
 * Checked by its principal minors after scaling to correlations, so that the test does not depend on the unit.
 */
export function covarianceFault(
  [xx, xy, xz, yy, yz, zz]: Symmetric3,
  names: readonly string[] = ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'],
): string | undefined {
  if (![xx, xy, xz, yy, yz, zz].every(Number.isFinite)) return 'an element is not a finite number';
  const [nxx, nxy, nxz, nyy, nyz, nzz] = names as [string, string, string, string, string, string];
  for (const [name, value] of [
    [nxx, xx],
    [nyy, yy],
    [nzz, zz],
  ] as const)
    if (value < 0) return `the variance ${name} is negative (${value})`;
  const pairs = [
    [nxy, xy, xx, yy],
    [nxz, xz, xx, zz],
    [nyz, yz, yy, zz],
  ] as const;
  const correlations: number[] = [];
  for (const [name, value, first, second] of pairs) {
    const limit = Math.sqrt(first * second);
    const correlation = limit === 0 ? (value === 0 ? 0 : Number.POSITIVE_INFINITY) : value / limit;
    if (Math.abs(correlation) > 1 + correlationSlack) {
      return `the covariance ${name} (${value}) is larger than its two variances allow (at most ${limit.toPrecision(4)})`;
    }
    correlations.push(correlation);
  }
  const [rxy, rxz, ryz] = correlations as [number, number, number];
  const determinant = 1 + 2 * rxy * rxz * ryz - rxy * rxy - rxz * rxz - ryz * ryz;
  if (determinant < -correlationSlack)
    return 'its three covariances contradict each other (negative determinant)';
  return undefined;
}

/** How far the two halves of a matrix may lie apart, of the larger variance: printed digits, and no more. */
const symmetrySlack = 1e-6;

/**
 * A covariance from all nine elements of its matrix, row-major.
 *
 * @throws GEODESY_COVARIANCE where there are not nine finite numbers, where the matrix is not symmetric (the two elements are named)
 * or not positive semi-definite
 */
export function covarianceFrom(matrix: readonly number[]): Symmetric3 {
  if (matrix.length !== 9)
    fail('GEODESY_COVARIANCE', `${matrix.length} numbers are no covariance of three coordinates`, {
      hint: 'nine numbers, row by row',
    });
  const [xx, xy, xz, yx, yy, yz, zx, zy, zz] = matrix as [number, number, number, ...number[]] &
    Record<number, number>;
  const slack = symmetrySlack * Math.max(Math.abs(xx), Math.abs(yy!), Math.abs(zz!));
  for (const [upper, lower, row, column] of [
    [xy, yx, 1, 2],
    [xz, zx, 1, 3],
    [yz, zy, 2, 3],
  ] as const)
    if (Math.abs(upper! - lower!) > slack)
      fail(
        'GEODESY_COVARIANCE',
        `the matrix is not symmetric: ${upper} in row ${row}, column ${column}, and ${lower} in row ${column}, column ${row}`,
      );
  const mean = (a: number, b: number): number => (a + b) / 2;
  const covariance: Symmetric3 = [xx, mean(xy, yx!), mean(xz, zx!), yy!, mean(yz!, zy!), zz!];
  const fault = covarianceFault(covariance);
  if (fault !== undefined) fail('GEODESY_COVARIANCE', `this is no covariance: ${fault}`);
  return covariance;
}

/** M C M' for a 3 x 3 matrix M, row-major: the covariance of M times the vector that has C. */
export function turnCovariance(m: readonly number[], [xx, xy, xz, yy, yz, zz]: Symmetric3): Symmetric3 {
  const c = [xx, xy, xz, xy, yy, yz, xz, yz, zz];
  const element = (i: number, j: number): number => {
    let sum = 0;
    for (let k = 0; k < 3; k++)
      for (let l = 0; l < 3; l++) sum += m[3 * i + k]! * c[3 * k + l]! * m[3 * j + l]!;
    return sum;
  };
  return [element(0, 0), element(0, 1), element(0, 2), element(1, 1), element(1, 2), element(2, 2)];
}

/** Semi-axes in the unit of the square root of the covariance; azimuth of the major axis in radians in [0, pi). */
export interface ErrorEllipse {
  readonly semiMajor: number;
  readonly semiMinor: number;
  readonly azimuth: number;
}

/**
 * The 1-sigma error ellipse of an east-north covariance, by the closed form of the eigenvalues of a 2 x 2 matrix.
 *
 * The azimuth of the major axis counts clockwise from north; for a circle it is 0.
 *
 * @throws GEODESY_COVARIANCE where the matrix is not positive semi-definite.
 */
export function errorEllipse(ee: number, en: number, nn: number): ErrorEllipse {
  const fault = covarianceFault([ee, en, 0, nn, 0, 0]);
  if (fault !== undefined) fail('GEODESY_COVARIANCE', `no error ellipse: ${fault}`);
  const mean = (ee + nn) / 2;
  const spread = Math.hypot((ee - nn) / 2, en);
  const azimuth = spread === 0 ? 0 : Math.atan2(2 * en, nn - ee) / 2;
  return {
    semiMajor: Math.sqrt(mean + spread),
    semiMinor: Math.sqrt(Math.max(0, mean - spread)),
    azimuth: azimuth < 0 ? azimuth + Math.PI : azimuth,
  };
}

/** One axis of an error ellipsoid. */
export interface EllipsoidAxis {
  /** Length of the semi-axis, in the unit of the square root of the covariance. */
  readonly semiAxis: number;
  /** Of the end that does not point above the horizon, clockwise from north, radians in [0, 2 pi). */
  readonly azimuth: number;
  /** Of the same end, downward from the horizon, radians in [0, pi/2]. */
  readonly plunge: number;
}

/**
 * The 1-sigma error ellipsoid of a covariance in east, north and up: its three axes, the longest first.
 *
 * Eigenvalues by cyclic Jacobi rotations (Golub and Van Loan 2013, Matrix Computations, section 8.5), which for three by three end
 * after a few sweeps with all digits.
 *
 * @throws GEODESY_COVARIANCE where the matrix is not positive semi-definite
 */
export function errorEllipsoid(covariance: Symmetric3): [EllipsoidAxis, EllipsoidAxis, EllipsoidAxis] {
  const fault = covarianceFault(covariance);
  if (fault !== undefined) fail('GEODESY_COVARIANCE', `no error ellipsoid: ${fault}`);
  const [ee, en, eu, nn, nu, uu] = covariance;
  const a = [ee, en, eu, en, nn, nu, eu, nu, uu];
  const v = [1, 0, 0, 0, 1, 0, 0, 0, 1];
  for (let sweep = 0; sweep < 12; sweep++)
    for (const [p, q] of [
      [0, 1],
      [0, 2],
      [1, 2],
    ] as const)
      rotateAway(a, v, p, q);
  const axes = [0, 1, 2].map((k): EllipsoidAxis => {
    const down = v[6 + k]! > 0 ? -1 : 1;
    const [east, north, up] = [down * v[k]!, down * v[3 + k]!, down * v[6 + k]!];
    const azimuth = Math.atan2(east, north);
    return {
      semiAxis: Math.sqrt(Math.max(0, a[4 * k]!)),
      azimuth: azimuth < 0 ? azimuth + 2 * Math.PI : azimuth,
      plunge: Math.atan2(-up, Math.hypot(east, north)),
    };
  });
  return axes.sort((x, y) => y.semiAxis - x.semiAxis) as [EllipsoidAxis, EllipsoidAxis, EllipsoidAxis];
}

/** Makes element (p, q) of the symmetric matrix zero by a rotation, and turns the vectors with it. */
function rotateAway(a: number[], v: number[], p: number, q: number): void {
  const apq = a[3 * p + q]!;
  if (apq === 0) return;
  const theta = (a[4 * q]! - a[4 * p]!) / (2 * apq);
  const t = Math.sign(theta || 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (let k = 0; k < 3; k++) {
    const [kp, kq] = [a[3 * k + p]!, a[3 * k + q]!];
    a[3 * k + p] = c * kp - s * kq;
    a[3 * k + q] = s * kp + c * kq;
  }
  for (let k = 0; k < 3; k++) {
    const [pk, qk] = [a[3 * p + k]!, a[3 * q + k]!];
    a[3 * p + k] = c * pk - s * qk;
    a[3 * q + k] = s * pk + c * qk;
    const [vp, vq] = [v[3 * k + p]!, v[3 * k + q]!];
    v[3 * k + p] = c * vp - s * vq;
    v[3 * k + q] = s * vp + c * vq;
  }
}

/**
 * Covariance of the difference of two points, C1 + C2 - C12 - C12', from which their relative ellipse is drawn.
 *
 * @param cross covariance of the first with the second point, 3 x 3 row-major; zero where they are independent
 */
export function relativeCovariance(
  first: Symmetric3,
  second: Symmetric3,
  cross: readonly number[],
): Symmetric3 {
  const shared = [
    2 * cross[0]!,
    cross[1]! + cross[3]!,
    cross[2]! + cross[6]!,
    2 * cross[4]!,
    cross[5]! + cross[7]!,
    2 * cross[8]!,
  ];
  return first.map((value, i) => value + second[i]! - shared[i]!) as unknown as Symmetric3;
}
