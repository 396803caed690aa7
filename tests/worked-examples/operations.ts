import { confidenceFactor } from '@stillmark/estimation';
import {
  applyAffine,
  atEpoch,
  degrees,
  ellipsoidNamed,
  FrameRegistry,
  plateVelocity,
  radians,
  semiMinorAxis,
  toGeocentric,
  toGeodetic,
  TopocentricFrame,
  type Affine,
  type Ellipsoid,
  type Geocentric,
  type HelmertParameters,
  type PlateModel,
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

const epoch = (given: Given): number | undefined =>
  given['epoch'] === undefined ? undefined : number(given, 'epoch');
const parameters = (given: Given): HelmertParameters => {
  const three = (prefix: string, unit: string): number[] =>
    ['x', 'y', 'z'].map((axis) => number(given, `${prefix}${axis}_${unit}`));
  return {
    convention: given['convention'] as HelmertParameters['convention'],
    translation_mm: three('t', 'mm'),
    rotation_mas: three('r', 'mas'),
    scale_ppb: number(given, 'scale_ppb'),
    ...(given['referenceEpoch'] === undefined
      ? {}
      : {
          epoch: number(given, 'referenceEpoch'),
          translationRate_mm: three('dt', 'mm'),
          rotationRate_mas: three('dr', 'mas'),
          scaleRate_ppb: number(given, 'dscale_ppb'),
        }),
  };
};
const transformed = (given: Given, map: Affine): { x: number; y: number; z: number } => {
  const { x, y, z } = geocentric(given);
  const out = Float64Array.of(x, y, z);
  applyAffine(map, out, out);
  return { x: out[0]!, y: out[1]!, z: out[2]! };
};

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
  semiMinorAxis: (given) => ({ b: semiMinorAxis(ellipsoid(given)) }),
  helmert: (given) => transformed(given, atEpoch(parameters(given), epoch(given))),
  frameTransformation: (given) =>
    transformed(given, new FrameRegistry().path(given['from'] ?? '', given['to'] ?? '').at(epoch(given))),
  plateVelocity: (given) => {
    const at = point(given);
    const velocity = plateVelocity(given['model'] as PlateModel, given['plate'] ?? '', at);
    const { east, north, up } = TopocentricFrame.at(ellipsoid(given), at).rotate(velocity);
    return { east_mm: 1000 * east, north_mm: 1000 * north, up_mm: 1000 * up };
  },
  confidenceFactor: (given) => ({
    factor: confidenceFactor(number(given, 'dimension'), number(given, 'confidence')),
  }),
};
