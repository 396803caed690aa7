import { confidenceFactor, confidenceFactorEstimated } from '@stillmark/estimation';
import { readWorldFile } from '@stillmark/formats';
import {
  applyAffine,
  atEpoch,
  circularErrorRadius,
  degrees,
  ellipsoidNamed,
  errorEllipse,
  FrameRegistry,
  geodesicBetween,
  mapOnPlan,
  MapProjection,
  throughAffine,
  plateVelocity,
  radians,
  semiMinorAxis,
  toGeocentric,
  toGeodetic,
  TopocentricFrame,
  type PlanePoint,
  type Affine,
  type Ellipsoid,
  type Geocentric,
  type HelmertParameters,
  type PlateModel,
  type Symmetric3,
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
    ...(given['exact'] ? { exact: true } : {}),
    ...(given['pivotX'] ? { pivot_m: ['X', 'Y', 'Z'].map((axis) => number(given, `pivot${axis}`)) } : {}),
    ...(given['timeSpecific'] ? { timeSpecific: true, epoch: number(given, 'referenceEpoch') } : {}),
    ...(given['dscale_ppb'] === undefined
      ? {}
      : {
          epoch: number(given, 'referenceEpoch'),
          translationRate_mm: three('dt', 'mm'),
          rotationRate_mas: three('dr', 'mas'),
          scaleRate_ppb: number(given, 'dscale_ppb'),
        }),
  };
};
const place = (given: Given, prefix = '') => {
  const name = (what: string): string =>
    prefix === '' ? what : `${prefix}${what[0]!.toUpperCase()}${what.slice(1)}`;
  return geodetic(number(given, name('latitudeDeg')), number(given, name('longitudeDeg')), 0);
};
const transformed = (
  given: Given,
  map: Affine,
  at = geocentric(given),
): { x: number; y: number; z: number } => {
  const out = Float64Array.of(at.x, at.y, at.z);
  applyAffine(map, out, out);
  return { x: out[0]!, y: out[1]!, z: out[2]! };
};

/** Where a corner of pixels lies on the map, counted from the upper left corner of the image, as GDAL counts. */
const onMap = (given: Given): PlanePoint => {
  const text = ['a', 'd', 'b', 'e', 'c', 'f'].map((name) => given[name]).join('\n');
  const world = readWorldFile(new TextEncoder().encode(text), 'image.pgw');
  // The world file tells of centres.
  return throughAffine(world, [number(given, 'column') - 0.5, number(given, 'row') - 0.5]);
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
  geographicTransformation: (given) => {
    const target = ellipsoidNamed(given['toEllipsoid'] ?? '')!;
    const moved = transformed(given, atEpoch(parameters(given), epoch(given)), point(given));
    const { latitude, longitude, height } = toGeodetic(target, moved);
    return { latitudeDeg: degrees(latitude), longitudeDeg: degrees(longitude), height };
  },
  frameVelocity: (given) => {
    const at = point(given);
    const path = new FrameRegistry().path(given['from'] ?? '', given['to'] ?? '');
    // Linear in time within one table: a year's difference is the rate.
    const [before, after] = [2020, 2021].map((year) => transformed(given, path.at(year), at));
    const { east, north, up } = TopocentricFrame.at(ellipsoid(given), at).rotate({
      x: after!.x - before!.x,
      y: after!.y - before!.y,
      z: after!.z - before!.z,
    });
    return { east_mm: 1000 * east, north_mm: 1000 * north, up_mm: 1000 * up };
  },
  topocentricCovariance: (given) => {
    const elements = ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'].map((name) => number(given, name));
    const [ee, en, eu, nn, nu, uu] = TopocentricFrame.at(ellipsoid(given), point(given)).rotateCovariance(
      elements as unknown as Symmetric3,
    );
    return { ee, en, eu, nn, nu, uu };
  },
  errorEllipse: (given) => {
    const { semiMajor, semiMinor, azimuth } = errorEllipse(
      number(given, 'ee'),
      number(given, 'en'),
      number(given, 'nn'),
    );
    const confidence = Number(given['confidence'] ?? 0.95);
    const factor =
      given['degreesOfFreedom'] === undefined
        ? confidenceFactor(2, confidence)
        : confidenceFactorEstimated(2, confidence, number(given, 'degreesOfFreedom'));
    return {
      semiMajor,
      semiMinor,
      azimuthDeg: degrees(azimuth),
      confidenceSemiMajor: factor * semiMajor,
      confidenceSemiMinor: factor * semiMinor,
    };
  },
  circularErrorRadius: (given) => ({
    radius: circularErrorRadius(
      { semiMajor: number(given, 'semiMajor'), semiMinor: number(given, 'semiMinor'), azimuth: 0 },
      number(given, 'probability'),
    ),
  }),
  ellipsoidConstants: (given) => {
    const { a, f } = ellipsoid(given);
    const b = semiMinorAxis(ellipsoid(given));
    const e2 = f * (2 - f);
    return { b, e2, ep2: e2 / (1 - e2), c: (a * a) / b, E: Math.sqrt(a * a - b * b) };
  },
  mapProjection: (given) => ({
    ...new MapProjection(given['definition'] ?? '').fromGeodetic(place(given)),
  }),
  worldFile: (given) => {
    const [x, y] = onMap(given);
    return { x, y };
  },
  imageOnPlan: (given) => {
    const projection = new MapProjection(given['definition'] ?? '');
    const { map } = mapOnPlan(
      (point) => {
        const { easting, northing } = projection.fromGeodetic(toGeodetic(projection.ellipsoid, point));
        return [easting, northing];
      },
      origin(given),
      ellipsoid(given),
      { east: [-1500, 1500], north: [-1500, 1500] },
    );
    const [east, north] = throughAffine(map, onMap(given));
    return { east, north };
  },
  geodesic: (given) => {
    const { distance, azimuth, forwardAzimuth } = geodesicBetween(
      ellipsoid(given),
      place(given),
      place(given, 'to'),
    );
    const turn = (deg: number): number => (deg + 720) % 360;
    return {
      distance,
      azimuthDeg: turn(degrees(azimuth)),
      backAzimuthDeg: turn(degrees(forwardAzimuth) + 180),
    };
  },
  confidenceFactor: (given) => ({
    factor: confidenceFactor(number(given, 'dimension'), number(given, 'confidence')),
  }),
};
