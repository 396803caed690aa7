import { fail } from '@stillmark/problems';
import proj4 from 'proj4';
import { ellipsoidFrom, ellipsoids, semiMinorAxis, type Ellipsoid } from '../ellipsoid.ts';
import { degrees, radians, type Geodetic } from '../geocentric.ts';

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

/** What is said of a datum in a PROJ string: taken out, since it is no part of a projection. */
const datumTerm = /\+(?:towgs84|nadgrids|datum|geoidgrids|geoid_crs|ellps|a|b|rf|f|R)(?:=\S*)?(?=\s|$)/g;

/** Derivatives are taken over this angle to each side, and twice it: six kilometres, at which both errors are below 1e-11. */
const step = 1e-3;

/** The meridians are no directions where the differences would reach over the pole. */
function nearPole({ latitude }: Place): boolean {
  return Math.PI / 2 - Math.abs(latitude) <= 2 * step;
}

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
    const parsed = parse(definition, name);
    this.ellipsoid = ellipsoidFrom(`ellipsoid of ${name}`, parsed.a, { semiMinorAxis: parsed.b });
    this.metres = parsed.to_meter ?? 1;
    this.unit = parsed.units ?? 'm';
    // By its flattening: some projections of proj4 look for that, and not for the other axis.
    const { a, f } = this.ellipsoid;
    const shape = f === 0 ? `+a=${a} +b=${a} +no_defs` : `+a=${a} +rf=${1 / f} +no_defs`;
    this.#converter = proj4(`+proj=longlat ${shape}`, `${definition.replaceAll(datumTerm, '')} ${shape}`);
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
    if (!result.every(Number.isFinite))
      fail('GEODESY_PROJECTION', `${this.name} has no value at (${first}, ${second})`, {
        hint:
          way === 'forward'
            ? 'longitude and latitude in the area of the map'
            : 'easting and northing in the area of the map',
      });
    return [result[0]!, result[1]!];
  }

  /**
   * Convergence and scale at a point.
   *
   * @throws GEODESY_RANGE at the poles, where no direction is north; GEODESY_PROJECTION as {@link fromGeodetic}
   */
  distortion(at: Place): Distortion {
    if (nearPole(at))
      fail('GEODESY_RANGE', 'at a pole no direction is north: a map has no convergence there');
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
      this.fromGeodetic({
        latitude: at.latitude + steps * step * byLatitude,
        longitude: at.longitude + steps * step * byLongitude,
      });
    const [p2, p1, m1, m2] = [value(2), value(1), value(-1), value(-2)];
    const of = (axis: keyof Grid): number =>
      (this.metres * (8 * (p1[axis] - m1[axis]) - (p2[axis] - m2[axis]))) / (12 * step);
    return { easting: of('easting'), northing: of('northing') };
  }
}

const wgs84b = semiMinorAxis(ellipsoids['WGS 84']);

interface Parsed {
  readonly a: number;
  readonly b: number;
  readonly to_meter?: number;
  readonly units?: string;
  readonly projName?: string;
  readonly axis?: string;
}

function parse(definition: string, name: string): Parsed {
  const refuse = (why: string): never =>
    fail('GEODESY_PROJECTION', `${name} is ${why}`, {
      hint: 'a PROJ string such as +proj=utm +zone=32 +ellps=GRS80 (or +a= and +rf=), or EPSG: and a code',
    });
  if (!/\+proj=\S/.test(definition)) return refuse('no map projection');
  let parsed: Parsed;
  try {
    parsed = new proj4.Proj(definition);
  } catch {
    return refuse('no projection that is known here');
  }
  if (['longlat', 'identity', 'lonlat', 'latlon', 'latlong', 'geocent'].includes(parsed.projName ?? ''))
    return refuse('no map projection');
  if (parsed.axis !== undefined && parsed.axis !== 'enu')
    return refuse('turned to other axes than east and north');
  if (!(parsed.a > 0) || !(parsed.b > 0)) return refuse('without an ellipsoid');
  // proj4 takes a name that it does not know for WGS 84, and says nothing.
  const named = /\+(?:ellps|datum)=(\S+)/.exec(definition)?.[1];
  const shape = /\+(?:a|R)=/.test(definition);
  if (!shape && (named === undefined || (parsed.b === wgs84b && !/^WGS84$/i.test(named))))
    return refuse(
      named === undefined ? 'without an ellipsoid' : `on an ellipsoid '${named}' that is not known here`,
    );
  return parsed;
}
