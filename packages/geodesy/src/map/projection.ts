import { fail, ProblemError } from '@stillmark/problems';
import proj4 from 'proj4';
import { ellipsoidFrom, ellipsoids, semiMinorAxis, type Ellipsoid } from '../ellipsoid.ts';
import { degrees, radians, type Geodetic } from '../geocentric.ts';
import { readProjString, type ProjectionText } from './proj-string.ts';

/** Coordinates on a map, in the unit of the map. */
export interface Grid {
  readonly easting: number;
  readonly northing: number;
}

type Place = Pick<Geodetic, 'latitude' | 'longitude'>;

/** How a map distorts at a point. */
export interface Distortion {
  /** Azimuth of grid north, clockwise from true north, radians in (-pi, pi]. A grid bearing is the azimuth minus this. */
  readonly convergence: number;
  /** Length on the map for length on the ellipsoid along the meridian. */
  readonly meridianScale: number;
  /** The same along the parallel. Equal to the meridian's on a conformal map, where it is the point scale factor. */
  readonly parallelScale: number;
  /**
   * Derivatives of easting and northing (metres) by metres east and north on the ellipsoid, row-major:
   * dE/de, dE/dn, dN/de, dN/dn.
   */
  readonly jacobian: readonly [number, number, number, number];
}

/** Derivatives are taken over this angle to each side, and twice it: six kilometres, at which both errors are below 1e-11. */
const step = 1e-3;

/** At a pole no direction is east: a millimetre from it. */
const nearPole = ({ latitude }: Place): boolean => Math.cos(latitude) < 2e-10;

/**
 * A map projection, by a PROJ string: geodetic coordinates on its own ellipsoid to easting and northing and back. A projection and
 * no more: a datum shift in the string is not applied, since what shifts a datum is a transformation with a source and an epoch
 * (see `FrameRegistry`).
 *
 * Projections by proj4 (the npm library, a port of PROJ); distortion by differences of fourth order of its coordinates.
 */
export class MapProjection {
  readonly definition: string;
  readonly name: string;
  readonly ellipsoid: Ellipsoid;
  /** Metres in the unit of the map. */
  readonly metres: number;
  /** The unit's name, as PROJ has it: m, us-ft, ft. */
  readonly unit: string;
  readonly #converter: proj4.Converter;

  /** @throws GEODESY_PROJECTION where the string is not a projection that is known here */
  constructor(definition: string, name: string = definition) {
    this.definition = definition;
    this.name = name;
    const read = readProjString(definition, name);
    const parsed = shapeOf(read, name);
    this.ellipsoid = ellipsoidFrom(`ellipsoid of ${name}`, parsed.a, { semiMinorAxis: parsed.b });
    this.metres = parsed.to_meter ?? 1;
    this.unit = parsed.units ?? (this.metres === 1 ? 'm' : `${this.metres} m`);
    // By its flattening: some projections of proj4 look for that, and not for the other axis.
    const { a, f } = this.ellipsoid;
    const shape = `+a=${a} +rf=${1 / f} +no_defs`;
    this.#converter = proj4(`+proj=longlat ${shape}`, `${read.projection} ${shape}`);
  }

  /**
   * @param position on the projection's own ellipsoid; the height is not looked at
   * @throws GEODESY_PROJECTION where the projection has no value there
   */
  fromGeodetic({ latitude, longitude }: Place): Grid {
    const [easting, northing] = this.#convert('forward', degrees(longitude), degrees(latitude));
    return { easting, northing };
  }

  /**
   * @param height carried along, metres above the ellipsoid
   * @throws GEODESY_PROJECTION where no point of the ellipsoid has these coordinates
   */
  toGeodetic({ easting, northing }: Grid, height = 0): Geodetic {
    const [longitude, latitude] = this.#convert('inverse', easting, northing);
    if (Math.abs(latitude) > 90) this.#noValue('inverse', easting, northing);
    let found = { latitude: radians(latitude), longitude: radians(longitude) };
    // Some inverses of proj4 end tenths of a millimetre early: Newton's method on its forward projection does the rest.
    for (let step = 0; step < 3; step++) {
      const at = this.fromGeodetic(found);
      const [dE, dN] = [this.metres * (easting - at.easting), this.metres * (northing - at.northing)];
      if (Math.hypot(dE, dN) < 1e-8) break;
      found = this.#moved(found, dE, dN);
    }
    return { ...found, height };
  }

  /** The place that lies so many metres of the map further on. */
  #moved(from: Place, dE: number, dN: number): Place {
    if (nearPole(from)) return from;
    const [ee, en, ne, nn] = this.distortion(from).jacobian;
    const determinant = ee * nn - en * ne;
    const { north, east } = this.#radiansByMetre(from.latitude);
    return {
      latitude: from.latitude + (north * (ee * dN - ne * dE)) / determinant,
      longitude: from.longitude + (east * (nn * dE - en * dN)) / determinant,
    };
  }

  /** Radians of latitude and of longitude for a metre along the meridian and along the parallel. */
  #radiansByMetre(latitude: number): { north: number; east: number } {
    const { a, f } = this.ellipsoid;
    const e2 = f * (2 - f);
    const w = Math.sqrt(1 - e2 * Math.sin(latitude) ** 2);
    return { north: w ** 3 / (a * (1 - e2)), east: w / (a * Math.cos(latitude)) };
  }

  #convert(way: 'forward' | 'inverse', first: number, second: number): [number, number] {
    let result: readonly number[];
    try {
      result = this.#converter[way]([first, second]);
    } catch (error) {
      result = [Number.NaN, Number.NaN];
      if (!/finite/.test(String(error))) throw error;
    }
    if (!result.every(Number.isFinite)) this.#noValue(way, first, second);
    return [result[0]!, result[1]!];
  }

  #noValue(way: 'forward' | 'inverse', first: number, second: number): never {
    return fail('GEODESY_PROJECTION', `${this.name} has no value at (${first}, ${second})`, {
      hint:
        way === 'forward'
          ? 'longitude and latitude in the area of the map'
          : 'easting and northing in the area of the map',
    });
  }

  /**
   * Convergence and scale at a point.
   *
   * @throws GEODESY_RANGE at the poles, where no direction is north; GEODESY_PROJECTION as {@link fromGeodetic}
   */
  distortion(at: Place): Distortion {
    if (nearPole(at))
      fail(
        'GEODESY_RANGE',
        'at the pole every direction is south: a map has no convergence and no scale there',
      );
    const byLatitude = this.#derivative(at, 1, 0);
    const byLongitude = this.#derivative(at, 0, 1);
    const { north, east } = this.#radiansByMetre(at.latitude);
    const [dEdn, dNdn] = [byLatitude.easting * north, byLatitude.northing * north];
    const [dEde, dNde] = [byLongitude.easting * east, byLongitude.northing * east];
    return {
      convergence: Math.atan2(-dEdn, dNdn) + 0,
      meridianScale: Math.hypot(dEdn, dNdn),
      parallelScale: Math.hypot(dEde, dNde),
      jacobian: [dEde, dEdn, dNde, dNdn],
    };
  }

  /** Metres on the map for each radian of latitude or longitude. */
  #derivative(at: Place, byLatitude: number, byLongitude: number): Grid {
    const value = (steps: number): Grid =>
      this.fromGeodetic(
        overThePole({
          latitude: at.latitude + steps * step * byLatitude,
          longitude: at.longitude + steps * step * byLongitude,
        }),
      );
    for (const { places, weights } of differences) {
      const values = untorn(places.map((place) => () => value(place)));
      if (!values) continue;
      const of = (axis: keyof Grid): number =>
        (this.metres * weights.reduce((sum, w, i) => sum + w * values[i]![axis], 0)) / (12 * step);
      return { easting: of('easting'), northing: of('northing') };
    }
    return fail('GEODESY_PROJECTION', `${this.name} is torn at this place: it has no scale there`, {
      hint: 'a place in the area of the map',
    });
  }
}

/** Differences of fourth order: about the place, and where the map is torn beside it, to one side or the other. */
const differences: readonly { readonly places: readonly number[]; readonly weights: readonly number[] }[] = [
  { places: [-2, -1, 0, 1, 2], weights: [1, -8, 0, 8, -1] },
  { places: [0, 1, 2, 3, 4], weights: [-25, 48, -36, 16, -3] },
  { places: [0, -1, -2, -3, -4], weights: [25, -48, 36, -16, 3] },
];

/** The values at successive places, or undefined where one is missing or a step between two is far longer than the others. */
function untorn(values: readonly (() => Grid)[]): Grid[] | undefined {
  const found: Grid[] = [];
  for (const value of values) {
    try {
      found.push(value());
    } catch (error) {
      if (error instanceof ProblemError) return undefined;
      throw error;
    }
  }
  const lengths = found
    .slice(1)
    .map(({ easting, northing }, i) =>
      Math.hypot(easting - found[i]!.easting, northing - found[i]!.northing),
    );
  return Math.max(...lengths) > 3 * Math.min(...lengths) ? undefined : found;
}

/** The same place with a latitude of no more than a quarter turn: what goes over the pole comes down on the other side. */
function overThePole({ latitude, longitude }: Place): Place {
  if (Math.abs(latitude) <= Math.PI / 2) return { latitude, longitude };
  return { latitude: Math.sign(latitude) * Math.PI - latitude, longitude: longitude + Math.PI };
}

const wgs84b = semiMinorAxis(ellipsoids['WGS 84']);

interface Parsed {
  readonly a: number;
  readonly b: number;
  readonly to_meter?: number;
  readonly units?: string;
}

/** The ellipsoid and the unit as the library understands them; it takes an unknown name for WGS 84 and says nothing. */
function shapeOf({ projection, ellipsoid, named }: ProjectionText, name: string): Parsed {
  const parsed = new proj4.Proj(`${projection} ${ellipsoid}`) as unknown as Parsed;
  if (named !== undefined && parsed.b === wgs84b && !/^WGS84$/i.test(named))
    return fail('GEODESY_PROJECTION', `${name} stands on an ellipsoid '${named}' that is not known here`, {
      hint: '+a= and +rf=, in metres',
    });
  if (!(parsed.a > parsed.b))
    return fail('GEODESY_PROJECTION', `${name} stands on a sphere, and positions do not`, {
      hint: 'an ellipsoid',
    });
  return parsed;
}
