import { fail } from '@stillmark/problems';
import type { Ellipsoid } from './ellipsoid.ts';

/** Geocentric Cartesian coordinates in metres (EPSG axes X, Y, Z). */
export interface Geocentric {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** Geodetic coordinates: radians, and metres above the ellipsoid. */
export interface Geodetic {
  readonly latitude: number;
  readonly longitude: number;
  readonly height: number;
}

/**
 * Geodetic to geocentric (EPSG method 9602, forward).
 *
 * @throws GEODESY_RANGE for a value that is not finite, or a latitude beyond a quarter turn (degrees given where
 * radians are meant end here).
 */
export function toGeocentric(ellipsoid: Ellipsoid, { latitude, longitude, height }: Geodetic): Geocentric {
  if (!Number.isFinite(latitude) || !Number.isFinite(longitude) || !Number.isFinite(height)) {
    fail('GEODESY_RANGE', `geodetic coordinates must be finite, not (${latitude}, ${longitude}, ${height})`);
  }
  if (Math.abs(latitude) > Math.PI / 2) {
    fail('GEODESY_RANGE', `latitude ${latitude} rad is beyond a quarter turn`, {
      hint: 'latitude in radians, -pi/2 to pi/2',
    });
  }
  const { a, f } = ellipsoid;
  const e2 = f * (2 - f);
  const sin = Math.sin(latitude);
  const cos = Math.cos(latitude);
  const nu = a / Math.sqrt(1 - e2 * sin * sin);
  return {
    x: (nu + height) * cos * Math.cos(longitude),
    y: (nu + height) * cos * Math.sin(longitude),
    z: (nu * (1 - e2) + height) * sin,
  };
}

/**
 * Geocentric to geodetic, closed form for an oblate ellipsoid or a sphere (EPSG method 9602, reverse).
 *
 * Solves the quartic of Vermeille (2002, J. Geodesy 76, 451-454) in the variables k and D, with the two branches of
 * its resolvent cubic as in Karney (2011, arXiv:1102.1215, appendix B), which keep it exact near the axis and inside
 * the evolute. Longitude lies in (-pi, pi]; on the axis it is 0.
 *
 * @throws GEODESY_RANGE for a value that is not finite, and within a millimetre of the centre, where any latitude would do.
 */
export function toGeodetic(ellipsoid: Ellipsoid, { x, y, z }: Geocentric): Geodetic {
  solve(ellipsoid, x, y, z, scratch, 0);
  const [latitude, longitude, height] = scratch as unknown as [number, number, number];
  return { latitude, longitude, height };
}

const scratch = new Float64Array(3);

/**
 * Geocentric to geodetic for many points: X, Y, Z in turn to latitude, longitude (radians) and height (metres) in turn. `out` may
 * be the same array. Nothing is allocated.
 *
 * @throws GEODESY_RANGE for ragged arrays, and as {@link toGeodetic}, with the number of the point
 */
export function toGeodeticAll(ellipsoid: Ellipsoid, xyz: Float64Array, out: Float64Array): void {
  checkTriples(xyz, out);
  for (let i = 0; i < xyz.length; i += 3) solve(ellipsoid, xyz[i]!, xyz[i + 1]!, xyz[i + 2]!, out, i);
}

/**
 * Geodetic to geocentric for many points, the reverse of {@link toGeodeticAll}.
 *
 * @throws GEODESY_RANGE for ragged arrays, and as {@link toGeocentric}
 */
export function toGeocentricAll(ellipsoid: Ellipsoid, geodetic: Float64Array, out: Float64Array): void {
  checkTriples(geodetic, out);
  const { a, f } = ellipsoid;
  const e2 = f * (2 - f);
  for (let i = 0; i < geodetic.length; i += 3) {
    const latitude = geodetic[i]!;
    const longitude = geodetic[i + 1]!;
    const height = geodetic[i + 2]!;
    // One comparison for what is not finite and for what is beyond a quarter turn; the slow way says which.
    if (!(Math.abs(latitude) <= Math.PI / 2 && Number.isFinite(longitude + height)))
      toGeocentric(ellipsoid, { latitude, longitude, height });
    const sin = Math.sin(latitude);
    const cos = Math.cos(latitude);
    const nu = a / Math.sqrt(1 - e2 * sin * sin);
    out[i] = (nu + height) * cos * Math.cos(longitude);
    out[i + 1] = (nu + height) * cos * Math.sin(longitude);
    out[i + 2] = (nu * (1 - e2) + height) * sin;
  }
}

function checkTriples(given: Float64Array, out: Float64Array): void {
  if (given.length % 3 !== 0 || out.length !== given.length)
    fail('GEODESY_RANGE', `${given.length} numbers are no points`, { hint: 'three numbers for each point' });
}

/** Writes latitude, longitude and height of a point to `out` at `at`. */
function solve({ a, f }: Ellipsoid, x: number, y: number, z: number, out: Float64Array, at: number): void {
  if (!Number.isFinite(x) || !Number.isFinite(y) || !Number.isFinite(z)) {
    fail('GEODESY_RANGE', `geocentric coordinates must be finite, not (${x}, ${y}, ${z})${pointName(at)}`);
  }
  const e2 = f * (2 - f);
  const e4 = e2 * e2;
  const oneMinusE2 = (1 - f) * (1 - f);
  const radius = Math.sqrt(x * x + y * y);
  if (radius < 1e-3 && Math.abs(z) < 1e-3 && Math.hypot(radius, z) < 1e-3)
    fail('GEODESY_RANGE', `the point is at the centre of the ellipsoid: it has no latitude${pointName(at)}`);
  out[at + 1] = radius === 0 ? 0 : Math.atan2(y, x);

  const p = (radius / a) ** 2;
  const q = oneMinusE2 * (z / a) ** 2;
  const r = (p + q - e4) / 6;
  if (e4 * q === 0 && r <= 0) {
    // In the equatorial plane inside the evolute the nearest surface point is off the plane: the northern one is taken.
    const up = Math.sqrt((e4 - p) / oneMinusE2);
    const outward = Math.sqrt(p);
    const length = Math.hypot(up, outward);
    if (length === 0) {
      out[at] = Math.sign(z) * (Math.PI / 2);
      out[at + 2] = Math.abs(z) - a * (1 - f);
    } else {
      out[at] = Math.atan2(up, outward);
      out[at + 2] = (-a * oneMinusE2 * length) / e2;
    }
    return;
  }

  const u = resolventRoot(r, (e4 * p * q) / 4);
  const v = Math.sqrt(u * u + e4 * q);
  // u + v without cancellation where u is negative.
  const uv = u < 0 ? (e4 * q) / (v - u) : u + v;
  const w = Math.max(0, (e2 * (uv - q)) / (2 * v));
  const k = uv / (Math.sqrt(uv + w * w) + w);
  const d = (k * radius) / (k + e2);
  out[at] = Math.atan2(z / k, radius / (k + e2));
  out[at + 2] = (1 - oneMinusE2 / k) * Math.sqrt(d * d + z * z);
}

function pointName(at: number): string {
  return at === 0 ? '' : ` (point ${at / 3 + 1})`;
}

/** The real root u of Vermeille's resolvent cubic, for r and s as defined there. */
function resolventRoot(r: number, s: number): number {
  const r3 = r * r * r;
  const discriminant = s * (2 * r3 + s);
  if (discriminant >= 0) {
    const root = Math.sqrt(discriminant);
    const t3 = s + r3;
    const t = Math.cbrt(t3 < 0 ? t3 - root : t3 + root);
    return r + t + (t === 0 ? 0 : (r * r) / t);
  }
  const angle = Math.atan2(Math.sqrt(-discriminant), -(s + r3));
  return r + 2 * r * Math.cos(angle / 3);
}

const degree = Math.PI / 180;

export function radians(degrees: number): number {
  return degrees * degree;
}

export function degrees(radians: number): number {
  return radians / degree;
}
