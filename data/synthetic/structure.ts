/** Places told along and across a structure, as plan, geocentric and geographic coordinates. */
import { axesAt, geocentric, type Place, type Vector } from './place.ts';

/** Metres along the line of a structure, across it to the right, and above its middle. */
export type Local = readonly [along: number, across: number, above: number];

export interface StructureFrame {
  /** East and north of the middle, metres. */
  readonly planOf: (along: number, across: number) => { east: number; north: number };
  /** Geocentric position on the tangent plane at the middle. */
  readonly positionOf: (place: Local) => Vector;
  /** Longitude and latitude, good to a centimetre or two over a site. */
  readonly lonLatOf: (along: number, across: number) => [number, number];
}

/** @param azimuthDeg of the line, clockwise from north */
export function structureAt(centre: Place, azimuthDeg: number): StructureFrame {
  const a = (azimuthDeg * Math.PI) / 180;
  const planOf = (along: number, across: number): { east: number; north: number } => ({
    east: along * Math.sin(a) + across * Math.cos(a),
    north: along * Math.cos(a) - across * Math.sin(a),
  });
  const start = geocentric(centre);
  const axes = axesAt(centre);
  const lat = (centre.latitude * Math.PI) / 180;
  const e2 = 0.006_694_380_022_903_416;
  const w = Math.sqrt(1 - e2 * Math.sin(lat) ** 2);
  const meridian = (6_378_137 * (1 - e2)) / w ** 3 + centre.height;
  const parallel = (6_378_137 / w + centre.height) * Math.cos(lat);
  return {
    planOf,
    positionOf: ([along, across, above]) => {
      const { east, north } = planOf(along, across);
      return [0, 1, 2].map(
        (k) => start[k]! + axes.east[k]! * east + axes.north[k]! * north + axes.up[k]! * above,
      ) as unknown as Vector;
    },
    lonLatOf: (along, across) => {
      const { east, north } = planOf(along, across);
      const degrees = 180 / Math.PI;
      return [
        Number((centre.longitude + (east / parallel) * degrees).toFixed(7)),
        Number((centre.latitude + (north / meridian) * degrees).toFixed(7)),
      ];
    },
  };
}
