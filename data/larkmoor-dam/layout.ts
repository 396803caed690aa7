import { axesAt, geocentric, type Place, type Vector } from '../synthetic/place.ts';

/** Middle of the crest of the invented dam. */
export const centre: Place = { latitude: 55.284, longitude: -3.172, height: 312 };

/** The longitudinal axis of the dam, degrees clockwise from north; downstream is to the right of it. */
export const longitudinalAzimuth = 72;

/** Metres along the crest, downstream of its axis, and above the crest. */
type Local = readonly [along: number, downstream: number, above: number];

/** Where the antennas truly stand at the start; project.yaml has these places rounded. */
export const layout: Readonly<Record<string, Local>> = {
  B1: [-520, 250, 21.4],
  B2: [575, 275, 33.1],
  B3: [362, -12, 6.3],
  T01: [-236.4, 2.1, 1.6],
  T02: [-118.2, 2.3, 1.5],
  T03: [1.3, 2.2, 1.6],
  T04: [121.7, 2.0, 1.5],
  T05: [238.9, 2.4, 1.6],
  T06: [-161.1, 41.7, -15.2],
  T07: [-53.6, 42.2, -15.4],
  T08: [57.8, 41.5, -15.3],
  T09: [163.2, 42.0, -15.1],
  T10: [-92.5, 80.8, -31.0],
  T11: [4.4, 83.2, -31.6],
  T12: [96.1, 80.1, -30.8],
};

/** East and north, in metres, of a place given along and across the dam. */
export function planOf(along: number, downstream: number): { east: number; north: number } {
  const a = (longitudinalAzimuth * Math.PI) / 180;
  return {
    east: along * Math.sin(a) + downstream * Math.cos(a),
    north: along * Math.cos(a) - downstream * Math.sin(a),
  };
}

/** Geocentric position of a place given along, across and above the crest, on the tangent plane at its middle. */
export function positionOf([along, downstream, above]: Local): Vector {
  const { east, north } = planOf(along, downstream);
  const start = geocentric(centre);
  const axes = axesAt(centre);
  return [0, 1, 2].map(
    (k) => start[k]! + axes.east[k]! * east + axes.north[k]! * north + axes.up[k]! * above,
  ) as unknown as Vector;
}

/** Longitude and latitude of a place of the plan, good to a centimetre or two over the site. */
export function lonLatOf(along: number, downstream: number): [number, number] {
  const { east, north } = planOf(along, downstream);
  const lat = (centre.latitude * Math.PI) / 180;
  const e2 = 0.006_694_380_022_903_416;
  const w = Math.sqrt(1 - e2 * Math.sin(lat) ** 2);
  const meridian = (6_378_137 * (1 - e2)) / w ** 3 + centre.height;
  const parallel = (6_378_137 / w + centre.height) * Math.cos(lat);
  const degrees = 180 / Math.PI;
  return [
    Number((centre.longitude + (east / parallel) * degrees).toFixed(7)),
    Number((centre.latitude + (north / meridian) * degrees).toFixed(7)),
  ];
}
