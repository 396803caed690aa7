import type { Place } from '../synthetic/place.ts';
import { structureAt, type Local } from '../synthetic/structure.ts';

/** Middle of the crest of the invented dam. */
export const centre: Place = { latitude: 55.284, longitude: -3.172, height: 312 };

/** The longitudinal axis of the dam, degrees clockwise from north; downstream is to the right of it. */
export const longitudinalAzimuth = 72;

/** Where the antennas truly stand at the start, along the crest, downstream of its axis and above it; project.yaml has these places rounded. */
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

/** Places of the plan, geocentric positions, and longitudes and latitudes of places given along, across and above the crest. */
export const frame = structureAt(centre, longitudinalAzimuth);
export const { positionOf, lonLatOf } = frame;
