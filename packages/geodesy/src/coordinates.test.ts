import { source } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  checkSameEllipsoid,
  circularErrorRadius,
  covarianceFrom,
  distanceRootMeanSquare,
  ellipsoidNamed,
  ellipsoids,
  errorEllipse,
  geocentricKind,
  geodesicBetween,
  geodeticKind,
  mapKind,
  mapProjection,
  MapProjection,
  radians,
  SiteGrid,
  StructureAxes,
  toGeocentric,
  topocentricKind,
  TopocentricFrame,
  transformPoints,
  FrameRegistry,
  type CoordinateKind,
  type Symmetric3,
} from './index.ts';

const grs80 = ellipsoids['GRS 1980'];
const origin = { latitude: radians(47.1), longitude: radians(10.9), height: 1200 };
const utm = new MapProjection('+proj=utm +zone=32 +ellps=GRS80');
const site = new SiteGrid({
  name: 'works grid',
  map: { easting: 652_000, northing: 5_218_000 },
  site: { x: 5000, y: 1000 },
  bearing: radians(31.5),
  scale: 1.0003,
});
const kinds: CoordinateKind[] = [
  geocentricKind,
  geodeticKind(grs80),
  topocentricKind(TopocentricFrame.atGeodetic(grs80, origin), grs80),
  mapKind(utm),
  mapKind(utm, site),
];
const random = source(44);
const near = (): { x: number; y: number; z: number } =>
  toGeocentric(grs80, {
    latitude: origin.latitude + 0.01 * (random.uniform() - 0.5),
    longitude: origin.longitude + 0.01 * (random.uniform() - 0.5),
    height: 1000 + 500 * random.uniform(),
  });
const covariance: Symmetric3 = [4e-6, 1e-6, -5e-7, 3e-6, 2e-7, 9e-6];

describe('kinds of coordinates', () => {
  test.each(kinds.map((kind) => [kind.name, kind] as const))('%s: there and back', (_, kind) => {
    for (let i = 0; i < 50; i++) {
      const point = near();
      expectClose(kind.toGeocentric(kind.fromGeocentric(point)), point, { within: 2e-8, unit: 'm' });
      const back = kind.toGeocentricCovariance(kind.fromGeocentricCovariance(covariance, point), point);
      expectClose(
        back.map((v) => 1e6 * v),
        covariance.map((v) => 1e6 * v),
        { within: 1e-9, unit: 'mm2' },
      );
    }
  });

  test.each(kinds.map((kind) => [kind.name, kind] as const))(
    '%s: the covariance is that of moved points',
    (_, kind) => {
      // By differences of the coordinates themselves, in metres: no matrix of the code under test.
      const point = near();
      const metres = (p: { x: number; y: number; z: number }): number[] => {
        if (kind.name !== 'geodetic') return [...kind.fromGeocentric(p)];
        const { east, north, up } = TopocentricFrame.at(grs80, point).fromGeocentric(p);
        return [east, north, up];
      };
      const at = metres(point);
      const columns = (['x', 'y', 'z'] as const).map((axis) =>
        metres({ ...point, [axis]: point[axis] + 1 }).map((v, k) => v - at[k]!),
      );
      const [xx, xy, xz, yy, yz, zz] = covariance;
      const full = [
        [xx, xy, xz],
        [xy, yy, yz],
        [xz, yz, zz],
      ];
      const element = (i: number, j: number): number => {
        let sum = 0;
        for (let k = 0; k < 3; k++)
          for (let l = 0; l < 3; l++) sum += columns[k]![i]! * full[k]![l]! * columns[l]![j]!;
        return 1e6 * sum;
      };
      const expected = [
        element(0, 0),
        element(0, 1),
        element(0, 2),
        element(1, 1),
        element(1, 2),
        element(2, 2),
      ];
      // A metre's curvature, and the height's part in the scale of a map, are ten-thousandths.
      const ours = kind.fromGeocentricCovariance(covariance, point).map((v) => 1e6 * v);
      expectClose(ours, expected, { within: 5e-3, unit: 'mm2' });
    },
  );

  test('coordinates on two ellipsoids are not turned into each other without a transformation', () => {
    const airy = geodeticKind(ellipsoidNamed('Airy 1830')!);
    expect(() => checkSameEllipsoid(geodeticKind(grs80), airy)).toThrow(/different datums/);
    checkSameEllipsoid(geodeticKind(grs80), geodeticKind(ellipsoids['WGS 84']));
    checkSameEllipsoid(geocentricKind, airy);
  });
});

describe('maps', () => {
  test('a grid of the site takes its point, its turn and its scale, and back', () => {
    expect(site.fromMap({ easting: 652_000, northing: 5_218_000 })).toEqual({ x: 5000, y: 1000 });
    // A hundred metres on the map along the y axis of the site.
    const along = {
      easting: 652_000 + 100 * Math.sin(radians(31.5)),
      northing: 5_218_000 + 100 * Math.cos(radians(31.5)),
    };
    expectClose(site.fromMap(along), { x: 5000, y: 1100.03 }, { within: 1e-9, unit: 'm' });
    expectClose(site.toMap(site.fromMap(along)), along, { within: 1e-9, unit: 'm' });
    expect(() => new SiteGrid({ ...baseGrid, scale: 0 })).toThrow(/scale/);
    expect(() => new SiteGrid({ ...baseGrid, bearing: Number.NaN })).toThrow(/finite/);
  });

  test('a datum in a PROJ string is not applied, and feet are feet', () => {
    const at = { latitude: radians(52), longitude: radians(-1) };
    const plain = new MapProjection('+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996 +ellps=airy');
    const shifted = new MapProjection(
      '+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996 +ellps=airy +towgs84=446.4,-125.2,542.1,0.15,0.247,0.842,-20.5',
    );
    expect(shifted.fromGeodetic(at)).toEqual(plain.fromGeodetic(at));
    const feet = new MapProjection('+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996 +ellps=airy +units=us-ft');
    expect(feet.unit).toBe('us-ft');
    expectClose(feet.fromGeodetic(at).northing * (1200 / 3937), plain.fromGeodetic(at).northing, {
      within: 1e-6,
      unit: 'm',
    });
    expectClose(feet.distortion(at).meridianScale, plain.distortion(at).meridianScale, { within: 1e-11 });
  });

  test('convergence is positive where grid north lies east of true north', () => {
    const east = utm.distortion({ latitude: radians(47), longitude: radians(11) });
    expect(east.convergence).toBeGreaterThan(0);
    expect(utm.distortion({ latitude: radians(-47), longitude: radians(11) }).convergence).toBeCloseTo(
      -east.convergence,
      12,
    );
    expect(
      Math.abs(utm.distortion({ latitude: radians(47), longitude: radians(9) }).convergence),
    ).toBeLessThan(1e-12);
    expect(() => utm.distortion({ latitude: Math.PI / 2, longitude: 0 })).toThrow(/pole/);
  });

  test('beside the meridian at which a map is torn, and beside the pole, scale is what PROJ says (proj -S)', () => {
    const merc = new MapProjection('+proj=merc +ellps=GRS80');
    for (const longitude of [179.99, -179.99, 179.9]) {
      const { meridianScale, parallelScale } = merc.distortion({
        latitude: radians(10),
        longitude: radians(longitude),
      });
      expectClose([meridianScale, parallelScale], [1.01532, 1.01532], { within: 5e-6 });
    }
    const polar = new MapProjection('+proj=stere +lat_0=90 +lat_ts=70 +lon_0=-45 +ellps=WGS84');
    expectClose(polar.distortion({ latitude: radians(89.9), longitude: 0 }).meridianScale, 0.969859, {
      within: 5e-7,
    });
  });

  test('parameters that a PROJ string leaves out are zero, and what it gives must be known, a number and given once', () => {
    const somerc = new MapProjection('+proj=somerc +lat_0=46.95 +lon_0=7.44 +ellps=bessel');
    // proj +proj=somerc +lat_0=46.95 +lon_0=7.44 +ellps=bessel, PROJ 9.1.1, prints centimetres.
    expectClose(
      somerc.fromGeodetic({ latitude: radians(48), longitude: radians(10) }),
      { easting: 191_016.29, northing: 119_851.49 },
      { within: 0.005, unit: 'm' },
    );
    for (const [text, why] of [
      ['+proj=tmerc +ellps=GRS80 +rf=200', /ellipsoid is not given once/],
      ['+proj=tmerc +R=6371000', /sphere/],
      ['+proj=tmerc +lon_0=9', /no ellipsoid/],
      ['+proj=tmerc +k=0,9996 +ellps=GRS80', /not a number/],
      ['+proj=tmerc +ellps=GRS80 +to_meter=0', /not positive/],
      ['+proj=tmerc +ellps=GRS80 +units=foo', /units=foo/],
      ['+proj=tmerc +ellps=GRS80 +pm=foo', /prime meridian/],
      ['+proj=tmerc +lon_0=9 +lon_0=9 +ellps=GRS80', /given twice/],
      ['+proj=lcc +ellps=GRS80', /needs \+lat_1=/],
      ['+proj=ortho +ellps=GRS80', /proj=ortho/],
      ['+proj=utm +zone=32 +ellps=unheard', /'unheard' that is not known/],
    ] as const)
      expect(() => new MapProjection(text)).toThrow(why);
  });

  test('what is no projection is told, and what has no value too', () => {
    for (const text of ['EPSG:4326', 'EPSG:99999', '+proj=foo', '+proj=longlat +ellps=GRS80', 'here', ''])
      expect(() => mapProjection(text)).toThrow(/projection/);
    expect(() => mapProjection('+proj=utm +zone=32 +ellps=GRS80 +axis=neu')).toThrow(/other axes/);
    expect(() => utm.fromGeodetic({ latitude: Number.NaN, longitude: 0 })).toThrow(/has no value/);
    expect(mapProjection('epsg:25832').fromGeodetic(origin)).toEqual(utm.fromGeodetic(origin));
  });
});

const baseGrid = { name: 'g', map: { easting: 0, northing: 0 }, site: { x: 0, y: 0 }, bearing: 0, scale: 1 };

test('axes of a structure: transverse to the right of longitudinal, and back', () => {
  const axes = new StructureAxes(radians(72));
  const along = { east: Math.sin(radians(72)), north: Math.cos(radians(72)), up: 0.5 };
  expectClose(
    axes.fromTopocentric(along),
    { longitudinal: 1, transverse: 0, up: 0.5 },
    { within: 1e-15, unit: 'm' },
  );
  expectClose(axes.toTopocentric(axes.fromTopocentric(along)), along, { within: 1e-15, unit: 'm' });
  expect(new StructureAxes(0).fromTopocentric({ east: 1, north: 0, up: 0 }).transverse).toBe(1);
  const turned = axes.rotateCovariance([5, 1, 0.2, 3, 0.1, 9]);
  const [before, after] = [errorEllipse(5, 1, 3), errorEllipse(turned[3], turned[1], turned[0])];
  expectClose([after.semiMajor, after.semiMinor], [before.semiMajor, before.semiMinor], { within: 1e-12 });
});

test('a covariance of nine elements must be symmetric; the two that are not are named', () => {
  expect(covarianceFrom([4, 1, 0, 1, 3, 0.5, 0, 0.5, 9])).toEqual([4, 1, 0, 3, 0.5, 9]);
  expect(() => covarianceFrom([4, 1, 0, 1.1, 3, 0, 0, 0, 9])).toThrow(
    /not symmetric: 1 in row 1, column 2, and 1.1 in row 2, column 1/,
  );
  expect(() => covarianceFrom([4, 1, 0, 1, 3, 0])).toThrow(/6 numbers/);
  expect(() => covarianceFrom([1, 2, 0, 2, 1, 0, 0, 0, 1])).toThrow(/larger than/);
  expect(() => covarianceFrom([1, 0, 0, 0, Number.NaN, 0, 0, 0, 1])).toThrow(/finite/);
});

test('circular errors: the circle holds its share of simulated positions', () => {
  const ellipse = { semiMajor: 3, semiMinor: 1, azimuth: 0 };
  const draws = Array.from({ length: 40_000 }, () => Math.hypot(3 * random.normal(), random.normal()));
  for (const probability of [0.5, 0.95]) {
    const radius = circularErrorRadius(ellipse, probability);
    const share = draws.filter((d) => d <= radius).length / draws.length;
    expect(Math.abs(share - probability)).toBeLessThan(0.01);
  }
  expect(distanceRootMeanSquare(ellipse)).toBe(Math.hypot(3, 1));
  expect(circularErrorRadius({ semiMajor: 0, semiMinor: 0, azimuth: 0 }, 0.5)).toBe(0);
  expect(() => circularErrorRadius(ellipse, 1)).toThrow(/between 0 and 1/);
  // A line is the normal distribution of one dimension, a circle Rayleigh's, at either end of the probabilities.
  expectClose(circularErrorRadius({ semiMajor: 1, semiMinor: 0, azimuth: 0 }, 0.001), 0.0012533144655, {
    within: 1e-12,
  });
  expectClose(
    circularErrorRadius({ semiMajor: 1, semiMinor: 1, azimuth: 0 }, 1 - 1e-9),
    Math.sqrt(-2 * Math.log(1e-9)),
    { within: 1e-6 },
  );
});

test('geodesics refuse degrees given as radians, and what is not finite', () => {
  const at = { latitude: 0.8, longitude: 0.1 };
  expect(() => geodesicBetween(grs80, { latitude: 47, longitude: 11 }, at)).toThrow(/no place/);
  expect(() => geodesicBetween(grs80, at, { latitude: 0.8, longitude: Number.NaN })).toThrow(/no place/);
  expect(geodesicBetween(grs80, at, at).distance).toBe(0);
});

describe('points with epochs', () => {
  const path = new FrameRegistry().path('ITRF2020', 'ETRF2000');

  test('each is transformed at its own epoch, with its covariance', () => {
    const points = Float64Array.from([0, 1, 2].flatMap(() => Object.values(near())));
    const covariances = Float64Array.from([0, 1, 2].flatMap(() => [...covariance]));
    const together = { xyz: points.slice(), covariance: covariances.slice() };
    transformPoints((epoch) => path.at(epoch), Float64Array.of(2010, 2020.5, 2020.5), together);
    [2010, 2020.5, 2020.5].forEach((epoch, i) => {
      const single = { xyz: points.slice(3 * i, 3 * i + 3), covariance: covariances.slice(0, 6) };
      transformPoints((e) => path.at(e), epoch, single);
      expect(together.xyz.slice(3 * i, 3 * i + 3)).toEqual(single.xyz);
      expect(together.covariance.slice(6 * i, 6 * i + 6)).toEqual(single.covariance);
    });
  });

  test('arrays that do not belong together are refused, a missing epoch with the frames', () => {
    const at = (epoch: number | undefined): ReturnType<typeof path.at> => path.at(epoch);
    expect(() => transformPoints(at, 2020, { xyz: new Float64Array(4) })).toThrow(/no points/);
    expect(() => transformPoints(at, Float64Array.of(2020), { xyz: new Float64Array(6) })).toThrow(
      /1 epochs are not those of 2 points/,
    );
    expect(() =>
      transformPoints(at, 2020, { xyz: new Float64Array(3), covariance: new Float64Array(5) }),
    ).toThrow(/no covariances/);
    expect(() => transformPoints(at, undefined, { xyz: new Float64Array(3) })).toThrow(
      /ITRF2020 to ETRF2000: coordinates in a dynamic frame need an epoch/,
    );
    transformPoints(at, new Float64Array(0), { xyz: new Float64Array(0) });
  });
});
