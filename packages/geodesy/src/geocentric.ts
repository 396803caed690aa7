import { fail } from '@stillmark/problems';
import { arcTangent } from './arc-tangent.ts';
import { checkTriples, pointName } from './arrays.ts';
import type { Ellipsoid } from './ellipsoid.ts';
import { solveQuartic } from './quartic.ts';

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
 * @throws GEODESY_RANGE for a value that is not finite, a latitude beyond a quarter turn or a longitude beyond a turn (degrees
 * given where radians are meant end here).
 */
export function toGeocentric(ellipsoid: Ellipsoid, { latitude, longitude, height }: Geodetic): Geocentric {
  checkGeodetic(latitude, longitude, height, '');
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

function checkGeodetic(latitude: number, longitude: number, height: number, point: string): void {
  if (!Number.isFinite(latitude) || !Number.isFinite(longitude) || !Number.isFinite(height)) {
    fail(
      'GEODESY_RANGE',
      `geodetic coordinates must be finite, not (${latitude}, ${longitude}, ${height})${point}`,
    );
  }
  if (Math.abs(latitude) > Math.PI / 2)
    fail('GEODESY_RANGE', `latitude ${latitude} rad is beyond a quarter turn${point}`, {
      hint: 'latitude in radians, -pi/2 to pi/2',
    });
  if (Math.abs(longitude) > 2 * Math.PI)
    fail('GEODESY_RANGE', `longitude ${longitude} rad is beyond a turn${point}`, {
      hint: 'longitude in radians, -pi to pi',
    });
}

/**
 * Geocentric to geodetic for an oblate ellipsoid or a sphere (EPSG method 9602, reverse), to the last places of the numbers
 * (5 nm from 10 km below the surface to 20 000 km above it, poles and equator included).
 *
 * Near the surface of ellipsoids like that of the earth, and outside, by two steps of Bowring (1976, Survey Review 23, 323-327) in
 * the reduced latitude from the start of Bowring (1985, Survey Review 28, 202-206); elsewhere by the closed form, see
 * {@link solveQuartic}. Longitude lies in (-pi, pi]; on the axis it is 0.
 *
 * @throws GEODESY_RANGE for a value that is not finite, and within a millimetre of the centre, where any latitude would do.
 */
export function toGeodetic(ellipsoid: Ellipsoid, { x, y, z }: Geocentric): Geodetic {
  scratch[0] = x;
  scratch[1] = y;
  scratch[2] = z;
  solve(ellipsoid, scratch, scratch);
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
  solve(ellipsoid, xyz, out);
}

/**
 * Geodetic to geocentric for many points, the reverse of {@link toGeodeticAll}.
 *
 * @throws GEODESY_RANGE for ragged arrays, and as {@link toGeocentric}, with the number of the point
 */
export function toGeocentricAll(ellipsoid: Ellipsoid, geodetic: Float64Array, out: Float64Array): void {
  checkTriples(geodetic, out);
  const { a, f } = ellipsoid;
  const e2 = f * (2 - f);
  for (let i = 0; i < geodetic.length; i += 3) {
    const latitude = geodetic[i]!;
    const longitude = geodetic[i + 1]!;
    const height = geodetic[i + 2]!;
    // One comparison for what is not finite and for what is beyond its turn; the slow way says which.
    if (!(Math.abs(latitude) <= Math.PI / 2 && Math.abs(longitude) <= 2 * Math.PI && Number.isFinite(height)))
      checkGeodetic(latitude, longitude, height, pointName(i, geodetic.length));
    const sin = Math.sin(latitude);
    const cos = Math.cos(latitude);
    const nu = a / Math.sqrt(1 - e2 * sin * sin);
    out[i] = (nu + height) * cos * Math.cos(longitude);
    out[i + 1] = (nu + height) * cos * Math.sin(longitude);
    out[i + 2] = (nu * (1 - e2) + height) * sin;
  }
}

/** Flattening up to which two steps of Bowring are exact: all ellipsoids of the earth have about a third of it. */
const earthlike = 0.01;

function solve({ a, f }: Ellipsoid, xyz: Float64Array, out: Float64Array): void {
  const e2 = f * (2 - f);
  const axisRatio = 1 - f;
  // e'^2 b and e^2 a, the radii of the evolute's cusps.
  const polar = (e2 / axisRatio) * a;
  const equatorial = e2 * a;
  // Deep inside, and for ellipsoids unlike the earth, the closed form.
  const nearest = f <= earthlike ? (0.9 * a) ** 2 : Number.POSITIVE_INFINITY;
  for (let i = 0; i < xyz.length; i += 3) {
    const x = xyz[i]!;
    const y = xyz[i + 1]!;
    const z = xyz[i + 2]!;
    const p2 = x * x + y * y;
    const r2 = p2 + z * z;
    const p = Math.sqrt(p2);
    // Not finite ends in the closed form too, which says so.
    if (!(r2 >= nearest && r2 < 1e30)) {
      solveQuartic(a, f, x, y, z, out, i, pointName(i, xyz.length));
      continue;
    }
    // (sine, cosine) of the reduced latitude, not normalised.
    const r = Math.sqrt(r2);
    let s = axisRatio * z * (r + polar);
    let c = p * r;
    let m = 1 / Math.sqrt(s * s + c * c);
    s *= m;
    c *= m;
    s = axisRatio * (z + polar * s * s * s);
    c = p - equatorial * c * c * c;
    m = 1 / Math.sqrt(s * s + c * c);
    s *= m;
    c *= m;
    // (sine, cosine) of the latitude.
    s = z + polar * s * s * s;
    c = p - equatorial * c * c * c;
    m = 1 / Math.sqrt(s * s + c * c);
    s *= m;
    c *= m;
    // Both angles by half of them, whose tangents are at most one.
    out[i] = 2 * arcTangent(s / (1 + c));
    const half = p === 0 ? 0 : 2 * arcTangent(y / (p + Math.abs(x)));
    out[i + 1] = x >= 0 ? half : (y < 0 ? -Math.PI : Math.PI) - half;
    out[i + 2] = p * c + z * s - a * Math.sqrt(1 - e2 * s * s);
  }
}

const degree = Math.PI / 180;

export function radians(degrees: number): number {
  return degrees * degree;
}

export function degrees(radians: number): number {
  return radians / degree;
}
