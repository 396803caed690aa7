import type { Symmetric3 } from './covariance.ts';
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

  toGeocentric({ east, north, up }: Topocentric): Geocentric {
    const horizontal = this.#cosLat * up - this.#sinLat * north;
    return {
      x: this.origin.x + horizontal * this.#cosLon - east * this.#sinLon,
      y: this.origin.y + horizontal * this.#sinLon + east * this.#cosLon,
      z: this.origin.z + this.#cosLat * north + this.#sinLat * up,
    };
  }

  /** A geocentric difference (not a point) in topocentric axes. */
  rotate({ x, y, z }: Geocentric): Topocentric {
    const outward = this.#cosLon * x + this.#sinLon * y;
    return {
      east: this.#cosLon * y - this.#sinLon * x,
      north: this.#cosLat * z - this.#sinLat * outward,
      up: this.#sinLat * z + this.#cosLat * outward,
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
  rotateCovariance([xx, xy, xz, yy, yz, zz]: Symmetric3): Symmetric3 {
    const c = [
      [xx, xy, xz],
      [xy, yy, yz],
      [xz, yz, zz],
    ] as const;
    const [e1, e2, e3, n1, n2, n3, u1, u2, u3] = this.axes;
    const r = [
      [e1, e2, e3],
      [n1, n2, n3],
      [u1, u2, u3],
    ] as const;
    const element = (i: 0 | 1 | 2, j: 0 | 1 | 2): number => {
      let sum = 0;
      for (const k of [0, 1, 2] as const)
        for (const l of [0, 1, 2] as const) sum += r[i][k] * c[k][l] * r[j][l];
      return sum;
    };
    return [element(0, 0), element(0, 1), element(0, 2), element(1, 1), element(1, 2), element(2, 2)];
  }
}
