import { confidenceFactor } from '@stillmark/estimation';
import {
  degrees,
  ellipsoidNamed,
  radians,
  toGeocentric,
  toGeodetic,
  TopocentricFrame,
  type Ellipsoid,
  type Geocentric,
} from '@stillmark/geodesy';

/** What a case gives: numbers as they are printed, and names. */
export type Given = Readonly<Record<string, string>>;

/** An operation by its name in the case files: takes what is given, returns named numbers. */
export type Operation = (given: Given) => Readonly<Record<string, number>>;

const number = (given: Given, name: string): number => {
  const text = given[name];
  if (text === undefined) throw new Error(`the case gives no ${name}`);
  return Number(text);
};
const ellipsoid = (given: Given): Ellipsoid => {
  const found = ellipsoidNamed(given['ellipsoid'] ?? '');
  if (!found) throw new Error(`the case gives no known ellipsoid: ${given['ellipsoid']}`);
  return found;
};
const geocentric = (given: Given, prefix = ''): Geocentric =>
  prefix === ''
    ? { x: number(given, 'x'), y: number(given, 'y'), z: number(given, 'z') }
    : { x: number(given, `${prefix}X`), y: number(given, `${prefix}Y`), z: number(given, `${prefix}Z`) };
const geodetic = (latitude: number, longitude: number, height: number) => ({
  latitude: radians(latitude),
  longitude: radians(longitude),
  height,
});

const origin = (given: Given): TopocentricFrame =>
  given['originX'] === undefined
    ? TopocentricFrame.atGeodetic(
        ellipsoid(given),
        geodetic(
          number(given, 'originLatitudeDeg'),
          number(given, 'originLongitudeDeg'),
          number(given, 'originHeight'),
        ),
      )
    : TopocentricFrame.at(ellipsoid(given), geocentric(given, 'origin'));
const point = (given: Given): Geocentric =>
  given['x'] === undefined
    ? toGeocentric(
        ellipsoid(given),
        geodetic(number(given, 'latitudeDeg'), number(given, 'longitudeDeg'), number(given, 'height')),
      )
    : geocentric(given);

/** Every operation that case files may name. A new one is a line here and a file under data/worked-examples. */
export const operations: Readonly<Record<string, Operation>> = {
  geodeticToGeocentric: (given) => ({ ...point(given) }),
  geocentricToGeodetic: (given) => {
    const { latitude, longitude, height } = toGeodetic(ellipsoid(given), geocentric(given));
    return { latitudeDeg: degrees(latitude), longitudeDeg: degrees(longitude), height };
  },
  geocentricToTopocentric: (given) => ({ ...origin(given).fromGeocentric(point(given)) }),
  topocentricToGeocentric: (given) => ({
    ...origin(given).toGeocentric({
      east: number(given, 'east'),
      north: number(given, 'north'),
      up: number(given, 'up'),
    }),
  }),
  confidenceFactor: (given) => ({
    factor: confidenceFactor(number(given, 'dimension'), number(given, 'confidence')),
  }),
};
