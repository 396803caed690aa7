import { fail } from '@stillmark/problems';
import { turnCovariance, type Symmetric3 } from './covariance.ts';
import type { Ellipsoid } from './ellipsoid.ts';
import { toGeocentric, toGeodetic, type Geocentric, type Geodetic } from './geocentric.ts';
import type { MapProjection } from './map/projection.ts';
import type { SiteGrid } from './map/site-grid.ts';
import { TopocentricFrame } from './topocentric.ts';

/** Three coordinates of a point, in the order of the kind's names. */
export type Triple = readonly [number, number, number];

/**
 * A kind of coordinates in one frame, with the way to geocentric ones and back.
 *
 * Covariances are of metres along the axes of the kind: X, Y, Z of geocentric coordinates; east, north, up at the point of geodetic
 * ones and at the origin of topocentric ones; easting, northing, up of a map, and x, y, up of a site's grid, scaled as lengths are
 * there.
 */
export interface CoordinateKind {
  readonly name: string;
  readonly names: readonly [string, string, string];
  /** Which of the three are angles, in radians here and in degrees wherever people read them. */
  readonly angles: readonly [boolean, boolean, boolean];
  /** Units of the three where people read them. */
  readonly units: readonly [string, string, string];
  /** Names of the covariances in the order of {@link Symmetric3}. */
  readonly covarianceNames: readonly [string, string, string, string, string, string];
  /** The ellipsoid on which they stand; geocentric coordinates need none. */
  readonly ellipsoid?: Ellipsoid;
  /** @throws GEODESY_RANGE, GEODESY_PROJECTION where no point has these coordinates */
  toGeocentric(point: Triple): Geocentric;
  fromGeocentric(point: Geocentric): Triple;
  /** A geocentric covariance along the axes of the kind, at a point; and the reverse. */
  fromGeocentricCovariance(covariance: Symmetric3, at: Geocentric): Symmetric3;
  toGeocentricCovariance(covariance: Symmetric3, at: Geocentric): Symmetric3;
}

/** Names of the covariances of all kinds but the geocentric one. */
export const localCovarianceNames = ['ee', 'en', 'eu', 'nn', 'nu', 'uu'] as const;
const lengths = { angles: [false, false, false], units: ['m', 'm', 'm'] } as const;

export const geocentricKind: CoordinateKind = {
  name: 'geocentric',
  names: ['x', 'y', 'z'],
  ...lengths,
  covarianceNames: ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'],
  toGeocentric: ([x, y, z]) => ({ x, y, z }),
  fromGeocentric: ({ x, y, z }) => [x, y, z],
  fromGeocentricCovariance: (covariance) => covariance,
  toGeocentricCovariance: (covariance) => covariance,
};

export function geodeticKind(ellipsoid: Ellipsoid): CoordinateKind {
  return {
    name: 'geodetic',
    names: ['latitude', 'longitude', 'height'],
    angles: [true, true, false],
    units: ['deg', 'deg', 'm'],
    covarianceNames: localCovarianceNames,
    ellipsoid,
    toGeocentric: ([latitude, longitude, height]) => toGeocentric(ellipsoid, { latitude, longitude, height }),
    fromGeocentric: (point) => {
      const { latitude, longitude, height } = toGeodetic(ellipsoid, point);
      return [latitude, longitude, height];
    },
    ...alongLocalAxes((at) => TopocentricFrame.at(ellipsoid, at)),
  };
}

export function topocentricKind(frame: TopocentricFrame, ellipsoid: Ellipsoid): CoordinateKind {
  return {
    name: 'topocentric',
    names: ['east', 'north', 'up'],
    ...lengths,
    covarianceNames: localCovarianceNames,
    ellipsoid,
    toGeocentric: ([east, north, up]) => frame.toGeocentric({ east, north, up }),
    fromGeocentric: (point) => {
      const { east, north, up } = frame.fromGeocentric(point);
      return [east, north, up];
    },
    ...alongLocalAxes(() => frame),
  };
}

/**
 * Easting and northing of a map, or x and y of a site's grid on it, and the height above the ellipsoid.
 *
 * @throws GEODESY_PROJECTION for a grid on a map that is not in metres
 */
export function mapKind(projection: MapProjection, grid?: SiteGrid): CoordinateKind {
  const { ellipsoid } = projection;
  if (grid && projection.metres !== 1)
    fail(
      'GEODESY_PROJECTION',
      `${projection.name} is not in metres: the grid of a site cannot be tied to it`,
    );
  /** Lengths along the axes of the map, or of the grid on it, by lengths east and north on the ground's ellipsoid. */
  const jacobianAt = ({ latitude, longitude }: Geodetic): [number, number, number, number] => {
    const [ee, en, ne, nn] = projection.distortion({ latitude, longitude }).jacobian;
    if (!grid) return [ee, en, ne, nn];
    const s = grid.scale * Math.sin(grid.bearing);
    const c = grid.scale * Math.cos(grid.bearing);
    return [c * ee - s * ne, c * en - s * nn, s * ee + c * ne, s * en + c * nn];
  };
  const geodetic = geodeticKind(ellipsoid);
  return {
    name: grid ? grid.name : projection.name,
    names: grid ? ['siteX', 'siteY', 'height'] : ['easting', 'northing', 'height'],
    angles: lengths.angles,
    units: grid ? lengths.units : [projection.unit, projection.unit, 'm'],
    covarianceNames: localCovarianceNames,
    ellipsoid,
    toGeocentric: ([first, second, height]) => {
      const map = grid ? grid.toMap({ x: first, y: second }) : { easting: first, northing: second };
      return toGeocentric(ellipsoid, projection.toGeodetic(map, height));
    },
    fromGeocentric: (point) => {
      const at = toGeodetic(ellipsoid, point);
      const map = projection.fromGeodetic(at);
      if (!grid) return [map.easting, map.northing, at.height];
      const { x, y } = grid.fromMap(map);
      return [x, y, at.height];
    },
    fromGeocentricCovariance: (covariance, at) => {
      const [a, b, c, d] = jacobianAt(toGeodetic(ellipsoid, at));
      return turnCovariance([a, b, 0, c, d, 0, 0, 0, 1], geodetic.fromGeocentricCovariance(covariance, at));
    },
    toGeocentricCovariance: (covariance, at) => {
      const [a, b, c, d] = jacobianAt(toGeodetic(ellipsoid, at));
      const determinant = a * d - b * c;
      const inverse = [d, -b, 0, -c, a, 0, 0, 0, determinant].map((v) => v / determinant);
      return geodetic.toGeocentricCovariance(turnCovariance(inverse, covariance), at);
    },
  };
}

function alongLocalAxes(
  axesAt: (at: Geocentric) => TopocentricFrame,
): Pick<CoordinateKind, 'fromGeocentricCovariance' | 'toGeocentricCovariance'> {
  return {
    fromGeocentricCovariance: (covariance, at) => axesAt(at).rotateCovariance(covariance),
    toGeocentricCovariance: (covariance, at) => axesAt(at).rotateCovarianceBack(covariance),
  };
}

/** A millimetre: what two ellipsoids may differ in and still be taken for one (GRS 1980 and WGS 84 differ by a tenth of it). */
const sameEllipsoid = 1e-3;

/**
 * Coordinates on two ellipsoids belong to two datums, a hundred metres apart: without a transformation between them none can be
 * turned into the other.
 *
 * @throws GEODESY_FRAME where the two kinds stand on different ellipsoids
 */
export function checkSameEllipsoid(from: CoordinateKind, to: CoordinateKind): void {
  const [a, b] = [from.ellipsoid, to.ellipsoid];
  if (!a || !b || ellipsoidsAgree(a, b)) return;
  fail(
    'GEODESY_FRAME',
    `${from.name} coordinates stand on ${a.name}, ${to.name} ones on ${b.name}: they belong to different datums`,
    { hint: 'a transformation between the two, with its source' },
  );
}

export function ellipsoidsAgree(one: Ellipsoid, other: Ellipsoid): boolean {
  return (
    Math.abs(one.a - other.a) < sameEllipsoid && Math.abs(one.a * one.f - other.a * other.f) < sameEllipsoid
  );
}
