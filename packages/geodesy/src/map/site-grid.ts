import { fail } from '@stillmark/problems';
import type { Grid } from './projection.ts';

/** Coordinates on the grid of a site, metres: x to the right of y. */
export interface SiteCoordinates {
  readonly x: number;
  readonly y: number;
}

/** A point that is given on the map and on the site's grid, and how the second lies on the first. */
export interface SiteGridParameters {
  readonly name: string;
  readonly map: Grid;
  readonly site: SiteCoordinates;
  /** Where the y axis of the site points on the map: radians clockwise from grid north. */
  readonly bearing: number;
  /** Length on the site's grid for length on the map. */
  readonly scale: number;
}

/**
 * The grid of a site, tied to a map by a similarity in the plane (EPSG method 9621, with the y axis where the source has its
 * rotated northing).
 *
 * Displacements take its rotation only: a movement of ten millimetres is ten millimetres on any grid.
 */
export class SiteGrid {
  readonly name: string;
  readonly bearing: number;
  readonly scale: number;
  readonly #map: Grid;
  readonly #site: SiteCoordinates;
  readonly #sin: number;
  readonly #cos: number;

  /** @throws GEODESY_RANGE for a scale that is not positive, or a value that is not finite */
  constructor({ name, map, site, bearing, scale }: SiteGridParameters) {
    for (const value of [map.easting, map.northing, site.x, site.y, bearing, scale])
      if (!Number.isFinite(value))
        fail('GEODESY_RANGE', `a value of the grid ${name} is not a finite number`);
    if (!(scale > 0)) fail('GEODESY_RANGE', `the scale of the grid ${name} is ${scale}`, { hint: 'about 1' });
    this.name = name;
    this.bearing = bearing;
    this.scale = scale;
    this.#map = map;
    this.#site = site;
    this.#sin = Math.sin(bearing);
    this.#cos = Math.cos(bearing);
  }

  fromMap({ easting, northing }: Grid): SiteCoordinates {
    const e = this.scale * (easting - this.#map.easting);
    const n = this.scale * (northing - this.#map.northing);
    return {
      x: this.#site.x + e * this.#cos - n * this.#sin,
      y: this.#site.y + e * this.#sin + n * this.#cos,
    };
  }

  toMap({ x, y }: SiteCoordinates): Grid {
    const dx = (x - this.#site.x) / this.scale;
    const dy = (y - this.#site.y) / this.scale;
    return {
      easting: this.#map.easting + dx * this.#cos + dy * this.#sin,
      northing: this.#map.northing - dx * this.#sin + dy * this.#cos,
    };
  }
}
