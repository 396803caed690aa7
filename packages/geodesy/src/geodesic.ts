import { fail } from '@stillmark/problems';
import geographiclib from 'geographiclib-geodesic';
import type { Ellipsoid } from './ellipsoid.ts';
import { degrees, radians, type Geodetic } from './geocentric.ts';

type Place = Pick<Geodetic, 'latitude' | 'longitude'>;

/** The shortest way between two points of the ellipsoid: metres, and azimuths clockwise from north in (-pi, pi]. */
export interface Geodesic {
  readonly distance: number;
  /** Direction in which it leaves the first point. */
  readonly azimuth: number;
  /** Direction in which it goes on at the second point; the way back leaves the other way. */
  readonly forwardAzimuth: number;
}

/**
 * Distance and azimuths of the geodesic from one point to another; heights are not looked at.
 *
 * Source: Karney (2013), J. Geodesy 87, 43-55, by its author's library geographiclib-geodesic.
 *
 * @throws GEODESY_RANGE for a latitude beyond a quarter turn, or a value that is not finite
 */
export function geodesicBetween({ a, f }: Ellipsoid, from: Place, to: Place): Geodesic {
  for (const place of [from, to]) checkPlace(place);
  const solver = new geographiclib.Geodesic.Geodesic(a, f);
  const { s12, azi1, azi2 } = solver.Inverse(
    degrees(from.latitude),
    degrees(from.longitude),
    degrees(to.latitude),
    degrees(to.longitude),
  ) as { s12: number; azi1: number; azi2: number };
  return { distance: s12, azimuth: radians(azi1), forwardAzimuth: radians(azi2) };
}

/**
 * The point that lies a distance (metres) along the geodesic that leaves a point in an azimuth; see {@link geodesicBetween}.
 *
 * @throws GEODESY_RANGE as {@link geodesicBetween}
 */
export function alongGeodesic(
  { a, f }: Ellipsoid,
  from: Place,
  azimuth: number,
  distance: number,
): { readonly latitude: number; readonly longitude: number; readonly forwardAzimuth: number } {
  checkPlace(from);
  if (!Number.isFinite(azimuth) || !Number.isFinite(distance))
    fail('GEODESY_RANGE', `no way leads ${distance} m in the azimuth ${azimuth} rad`);
  const solver = new geographiclib.Geodesic.Geodesic(a, f);
  const { lat2, lon2, azi2 } = solver.Direct(
    degrees(from.latitude),
    degrees(from.longitude),
    degrees(azimuth),
    distance,
  ) as { lat2: number; lon2: number; azi2: number };
  return { latitude: radians(lat2), longitude: radians(lon2), forwardAzimuth: radians(azi2) };
}

function checkPlace({ latitude, longitude }: Place): void {
  if (!(Math.abs(latitude) <= Math.PI / 2) || !Number.isFinite(longitude))
    fail('GEODESY_RANGE', `(${latitude}, ${longitude}) is no place on an ellipsoid`, {
      hint: 'latitude and longitude in radians',
    });
}
