import type { Geocentric } from '../geocentric.ts';
import type { TopocentricFrame } from '../topocentric.ts';

/** Where a satellite is seen: azimuth clockwise from north, elevation above the horizon of the ellipsoid; radians. */
export interface LookAngles {
  readonly azimuth: number;
  readonly elevation: number;
}

export function lookAngles(frame: TopocentricFrame, satellite: Geocentric): LookAngles {
  const { east, north, up } = frame.fromGeocentric(satellite);
  return { azimuth: Math.atan2(east, north), elevation: Math.atan2(up, Math.hypot(east, north)) };
}

/** Dilution of precision: what one metre of every range does to the position; in place, in plan, in height. */
export interface Dilution {
  readonly pdop: number;
  readonly hdop: number;
  readonly vdop: number;
}

/**
 * Dilution of precision of equally weighted ranges with one unknown clock (Langley 1999, GPS World 10(5), 52-59). The clock is eliminated by
 * taking directions from their mean, which leaves a matrix of order three.
 *
 * @returns undefined for fewer than four satellites, or where they leave a direction open
 */
export function dilutionOf(angles: readonly LookAngles[]): Dilution | undefined {
  const directions = new Float64Array(3 * angles.length);
  angles.forEach(({ azimuth, elevation }, i) => {
    directions[3 * i] = Math.cos(elevation) * Math.sin(azimuth);
    directions[3 * i + 1] = Math.cos(elevation) * Math.cos(azimuth);
    directions[3 * i + 2] = Math.sin(elevation);
  });
  return dilutionOfDirections(directions, angles.length);
}

/**
 * The same of directions: east, north and up of each in turn, of length one.
 *
 * @param n how many of them count
 */
export function dilutionOfDirections(directions: Float64Array, n: number): Dilution | undefined {
  if (n < 4) return undefined;
  let [east, north, up] = [0, 0, 0];
  for (let i = 0; i < 3 * n; i += 3) {
    east += directions[i]! / n;
    north += directions[i + 1]! / n;
    up += directions[i + 2]! / n;
  }
  let [ee, en, eu, nn, nu, uu] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < 3 * n; i += 3) {
    const e = directions[i]! - east;
    const m = directions[i + 1]! - north;
    const u = directions[i + 2]! - up;
    ee += e * e;
    en += e * m;
    eu += e * u;
    nn += m * m;
    nu += m * u;
    uu += u * u;
  }
  const [cee, cnn, cuu] = [nn * uu - nu * nu, ee * uu - eu * eu, ee * nn - en * en];
  const determinant = ee * cee - en * (en * uu - nu * eu) + eu * (en * nu - nn * eu);
  const trace = ee + nn + uu;
  if (!(determinant > 1e-12 * trace ** 3)) return undefined;
  const horizontal = (cee + cnn) / determinant;
  const vertical = cuu / determinant;
  return {
    pdop: Math.sqrt(horizontal + vertical),
    hdop: Math.sqrt(horizontal),
    vdop: Math.sqrt(vertical),
  };
}
