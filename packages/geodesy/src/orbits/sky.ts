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
  const n = angles.length;
  if (n < 4) return undefined;
  const directions = angles.map(({ azimuth, elevation }): [number, number, number] => [
    Math.cos(elevation) * Math.sin(azimuth),
    Math.cos(elevation) * Math.cos(azimuth),
    Math.sin(elevation),
  ]);
  const mean = [0, 1, 2].map((k) => directions.reduce((s, d) => s + d[k]!, 0) / n);
  let [ee, en, eu, nn, nu, uu] = [0, 0, 0, 0, 0, 0];
  for (const [a, b, c] of directions) {
    const [e, m, u] = [a - mean[0]!, b - mean[1]!, c - mean[2]!];
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
