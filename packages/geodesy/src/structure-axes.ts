import { turnCovariance, type Symmetric3 } from './covariance.ts';
import type { Topocentric } from './topocentric.ts';

/** Metres along the axes of a structure. */
export interface StructureCoordinates {
  readonly longitudinal: number;
  /** To the right of longitudinal. */
  readonly transverse: number;
  readonly up: number;
}

/** The axes of a structure: longitudinal in an azimuth, transverse to the right of it, and up. */
export class StructureAxes {
  readonly #sin: number;
  readonly #cos: number;

  /** @param azimuth of the longitudinal axis, radians clockwise from north */
  constructor(azimuth: number) {
    this.#sin = Math.sin(azimuth);
    this.#cos = Math.cos(azimuth);
  }

  fromTopocentric({ east, north, up }: Topocentric): StructureCoordinates {
    return {
      longitudinal: this.#sin * east + this.#cos * north,
      transverse: this.#cos * east - this.#sin * north,
      up,
    };
  }

  toTopocentric({ longitudinal, transverse, up }: StructureCoordinates): Topocentric {
    return {
      east: this.#sin * longitudinal + this.#cos * transverse,
      north: this.#cos * longitudinal - this.#sin * transverse,
      up,
    };
  }

  /** A covariance in east, north, up (ee, en, eu, nn, nu, uu) along the axes (ll, lt, lu, tt, tu, uu). */
  rotateCovariance(covariance: Symmetric3): Symmetric3 {
    return turnCovariance([this.#sin, this.#cos, 0, this.#cos, -this.#sin, 0, 0, 0, 1], covariance);
  }
}
