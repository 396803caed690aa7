import type { Place } from '../synthetic/place.ts';
import { structureAt, type Local } from '../synthetic/structure.ts';

/** Middle of the main span of the invented bridge, at the level of its road. */
export const centre: Place = { latitude: -41.062, longitude: 146.214, height: 31 };

/** The longitudinal axis of the bridge, from the east bank to the west bank, degrees clockwise from north; the sea is to the right of it. */
export const longitudinalAzimuth = 288;

/** Half the main span, and half the length of the deck, metres. */
export const halfSpan = 200;
export const halfLength = 382;

/** Where the antennas truly stand at the start, along the deck to the west, seaward of its axis and above the road; project.yaml has these places rounded. */
export const layout: Readonly<Record<string, Local>> = {
  B1: [-628, -188, -13.4],
  B2: [662, 176, -8.9],
  B3: [-356, 134, -26.7],
  A1: [-388.3, 9.6, 1.2],
  T1: [-200.0, 0.4, 78.6],
  Q1: [-100.3, 12.1, 1.5],
  M1: [0.2, 12.2, 1.5],
  Q2: [99.8, 12.1, 1.5],
  T2: [200.1, 0.5, 78.7],
  J2: [377.6, 12.0, 1.4],
  A2: [431.2, 9.7, 0.9],
};

/** Places of the plan, geocentric positions, and longitudes and latitudes of places given along, seaward and above the road. */
export const frame = structureAt(centre, longitudinalAzimuth);
export const { planOf, positionOf, lonLatOf } = frame;
