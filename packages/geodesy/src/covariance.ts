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
 * Checked by its principal minors after scaling to correlations, so that the test does not depend on the unit.
 */
export function covarianceFault([xx, xy, xz, yy, yz, zz]: Symmetric3): string | undefined {
  if (![xx, xy, xz, yy, yz, zz].every(Number.isFinite)) return 'an element is not a finite number';
  const variances = { xx, yy, zz };
  for (const [name, value] of Object.entries(variances))
    if (value < 0) return `the variance ${name} is negative (${value})`;
  const pairs = [
    ['xy', xy, xx, yy],
    ['xz', xz, xx, zz],
    ['yz', yz, yy, zz],
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
