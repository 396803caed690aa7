import { turnCovariance, type Symmetric3 } from './covariance.ts';
import type { Ellipsoid } from './ellipsoid.ts';
import { toGeocentric, toGeodetic, type Geocentric, type Geodetic } from './geocentric.ts';

/** Metres east, north and up of a topocentric origin. */
export interface Topocentric {
  readonly east: number;
  readonly north: number;
  readonly up: number;
}

/**
 * The topocentric axes at one point: east, north and up along the ellipsoidal normal (EPSG methods 9836 and 9837).
 *
 * Displacements of a station are turned with the axes at its committed reference position.
 */
export class TopocentricFrame {
  readonly origin: Geocentric;
  readonly geodetic: Geodetic;
  readonly #sinLat: number;
  readonly #cosLat: number;
  readonly #sinLon: number;
  readonly #cosLon: number;

  constructor(origin: Geocentric, geodetic: Geodetic) {
    this.origin = origin;
    this.geodetic = geodetic;
    this.#sinLat = Math.sin(geodetic.latitude);
    this.#cosLat = Math.cos(geodetic.latitude);
    this.#sinLon = Math.sin(geodetic.longitude);
    this.#cosLon = Math.cos(geodetic.longitude);
  }

  /** @throws GEODESY_RANGE where the origin has no geodetic coordinates. */
  static at(ellipsoid: Ellipsoid, origin: Geocentric): TopocentricFrame {
    return new TopocentricFrame(origin, toGeodetic(ellipsoid, origin));
  }

  /** @throws GEODESY_RANGE where the coordinates are out of range. */
  static atGeodetic(ellipsoid: Ellipsoid, origin: Geodetic): TopocentricFrame {
    return new TopocentricFrame(toGeocentric(ellipsoid, origin), origin);
  }

  fromGeocentric(point: Geocentric): Topocentric {
    return this.rotate({
      x: point.x - this.origin.x,
      y: point.y - this.origin.y,
      z: point.z - this.origin.z,
    });
  }

  toGeocentric(local: Topocentric): Geocentric {
    const { x, y, z } = this.turnBack(local);
    return { x: this.origin.x + x, y: this.origin.y + y, z: this.origin.z + z };
  }

  /** A geocentric difference (not a point) in topocentric axes; {@link TopocentricFrame.turnBack} is the reverse. */
  rotate({ x, y, z }: Geocentric): Topocentric {
    const outward = this.#cosLon * x + this.#sinLon * y;
    return {
      east: this.#cosLon * y - this.#sinLon * x,
      north: this.#cosLat * z - this.#sinLat * outward,
      up: this.#sinLat * z + this.#cosLat * outward,
    };
  }

  /** A difference in topocentric axes in geocentric ones. */
  turnBack({ east, north, up }: Topocentric): Geocentric {
    const outward = this.#cosLat * up - this.#sinLat * north;
    return {
      x: outward * this.#cosLon - east * this.#sinLon,
      y: outward * this.#sinLon + east * this.#cosLon,
      z: this.#cosLat * north + this.#sinLat * up,
    };
  }

  /**
   * Axes of the frame as unit vectors in geocentric axes, a row each: e1 e2 e3 n1 n2 n3 u1 u2 u3. What turns many points calls
   * for them once.
   */
  get axes(): readonly [number, number, number, number, number, number, number, number, number] {
    return [
      -this.#sinLon,
      this.#cosLon,
      0,
      -this.#sinLat * this.#cosLon,
      -this.#sinLat * this.#sinLon,
      this.#cosLat,
      this.#cosLat * this.#cosLon,
      this.#cosLat * this.#sinLon,
      this.#sinLat,
    ];
  }

  /** R C R' for a geocentric covariance C: the covariance in east, north, up (same unit, order ee, en, eu, nn, nu, uu). */
  rotateCovariance(covariance: Symmetric3): Symmetric3 {
    return turnCovariance(this.axes, covariance);
  }

  /** The reverse: a covariance in east, north, up in geocentric axes (order xx, xy, xz, yy, yz, zz). */
  rotateCovarianceBack(covariance: Symmetric3): Symmetric3 {
    const [e1, e2, e3, n1, n2, n3, u1, u2, u3] = this.axes;
    return turnCovariance([e1, n1, u1, e2, n2, u2, e3, n3, u3], covariance);
  }
}
