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
 * Dilution of precision of equally weighted ranges (Langley 1999, GPS World 10(5), 52-59) with an unknown clock for each constellation,
 * as receivers estimate offsets between system times. A clock is eliminated by taking the directions of its constellation from their
 * mean, which leaves a matrix of order three; a constellation of which one satellite is seen adds nothing.
 *
 * @param constellations directions of the satellites of each
 * @returns undefined where they leave a direction open, as fewer than three satellites beside those that tell the clocks do
 */
export function dilutionOf(...constellations: readonly (readonly LookAngles[])[]): Dilution | undefined {
  const angles = constellations.flat();
  const directions = new Float64Array(3 * angles.length);
  angles.forEach(({ azimuth, elevation }, i) => {
    directions[3 * i] = Math.cos(elevation) * Math.sin(azimuth);
    directions[3 * i + 1] = Math.cos(elevation) * Math.cos(azimuth);
    directions[3 * i + 2] = Math.sin(elevation);
  });
  let end = 0;
  return dilutionOfDirections(
    directions,
    constellations.map((own) => (end += own.length)),
  );
}

/**
 * The same of directions: east, north and up of each in turn, of length one, the satellites of a constellation together.
 *
 * @param ends how many satellites stand before the end of each constellation; what comes after the last one does not count
 */
export function dilutionOfDirections(
  directions: Float64Array,
  ends: ArrayLike<number>,
): Dilution | undefined {
  let [ee, en, eu, nn, nu, uu] = [0, 0, 0, 0, 0, 0];
  let begin = 0;
  for (let k = 0; k < ends.length; k++) {
    const end = 3 * ends[k]!;
    const n = (end - begin) / 3;
    let [east, north, up] = [0, 0, 0];
    for (let i = begin; i < end; i += 3) {
      east += directions[i]! / n;
      north += directions[i + 1]! / n;
      up += directions[i + 2]! / n;
    }
    for (let i = begin; i < end; i += 3) {
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
    begin = end;
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
