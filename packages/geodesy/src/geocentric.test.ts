import { source } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  ellipsoidFrom,
  ellipsoidNamed,
  ellipsoids,
  radians,
  toGeocentric,
  toGeocentricAll,
  toGeodetic,
  toGeodeticAll,
} from './index.ts';

const wgs84 = ellipsoids['WGS 84'];
const grs80 = ellipsoids['GRS 1980'];

describe('round trip', () => {
  test('geocentric -> geodetic -> geocentric holds to the last place from -10 km to 20 000 km, poles and equator included', () => {
    let worst = 0;
    for (const height of [-10_000, -1, 0, 73, 8_848, 400_000, 20_000_000]) {
      for (let lat = -90; lat <= 90; lat += 2.5) {
        for (const lon of [-180, -137.3, -90, -1e-9, 0, 2.13, 90, 179.999999]) {
          const point = toGeocentric(grs80, { latitude: radians(lat), longitude: radians(lon), height });
          const back = toGeocentric(grs80, toGeodetic(grs80, point));
          worst = Math.max(worst, Math.hypot(back.x - point.x, back.y - point.y, back.z - point.z));
        }
      }
    }
    // One unit in the last place of 26 000 km is 3.7 nm: the limit holds for the sum of both conversions there.
    expect(worst).toBeLessThan(1e-8);
  });

  test('at the height of structures the round trip is below 5 nm', () => {
    let worst = 0;
    for (let lat = -90; lat <= 90; lat += 0.37) {
      const point = toGeocentric(wgs84, {
        latitude: radians(lat),
        longitude: radians(lat * 1.7),
        height: 431.2,
      });
      const back = toGeocentric(wgs84, toGeodetic(wgs84, point));
      worst = Math.max(worst, Math.hypot(back.x - point.x, back.y - point.y, back.z - point.z));
    }
    expect(worst).toBeLessThan(5e-9);
  });
});

describe('edges', () => {
  test('on the axis latitude is a pole and longitude 0', () => {
    const b = wgs84.a * (1 - wgs84.f);
    expectClose(
      toGeodetic(wgs84, { x: 0, y: 0, z: b + 10 }),
      { latitude: Math.PI / 2, longitude: 0, height: 10 },
      { within: 1e-8 },
    );
    expectClose(
      toGeodetic(wgs84, { x: 0, y: 0, z: -b }),
      { latitude: -Math.PI / 2, longitude: 0, height: 0 },
      { within: 1e-8 },
    );
  });

  test('on the equator outside the evolute latitude is 0, inside it is the northern answer', () => {
    expect(toGeodetic(wgs84, { x: wgs84.a, y: 0, z: 0 })).toEqual({ latitude: 0, longitude: 0, height: 0 });
    const inside = toGeodetic(wgs84, { x: 1000, y: 0, z: 0 });
    expect(inside.latitude).toBeGreaterThan(0);
    const back = toGeocentric(wgs84, inside);
    expectClose(back, { x: 1000, y: 0, z: 0 }, { within: 1e-6, unit: 'm' });
  });

  test('the centre, what is not finite, and degrees given as radians are refused', () => {
    expect(() => toGeodetic(wgs84, { x: 0, y: 0, z: 0 })).toThrow(/no latitude/);
    expect(() => toGeodetic(wgs84, { x: Number.NaN, y: 0, z: 0 })).toThrow(/finite/);
    expect(() => toGeocentric(wgs84, { latitude: 47, longitude: 0, height: 0 })).toThrow(/quarter turn/);
    expect(() =>
      toGeocentric(wgs84, { latitude: 0, longitude: 0, height: Number.POSITIVE_INFINITY }),
    ).toThrow(/finite/);
  });
});

describe('many points', () => {
  const random = source(12);
  const n = 10_000;
  // From ten kilometres below the ellipsoid to twenty thousand above it, poles and axis included.
  const geodetic = Float64Array.from({ length: 3 * n }, (_, i) => {
    const u = random.uniform();
    if (i < 30) return [Math.PI / 2, 0.3, -9000][i % 3]!;
    if (i < 60) return [-Math.PI / 2, 0, 2e7][i % 3]!;
    if (i < 90) return [0, -3, 5000 * u][i % 3]!;
    return [Math.PI * (u - 0.5), 2 * Math.PI * (u - 0.5), -10_000 + (i % 2 === 0 ? 2e4 : 2.001e7) * u][
      i % 3
    ]!;
  });

  test('there and back is the same point, on any ellipsoid: to five nanometres, and to the last bits at satellite heights', () => {
    for (const ellipsoid of [
      ellipsoids['GRS 1980'],
      ellipsoidNamed('Airy 1830')!,
      ellipsoidFrom('sphere', 6_371_000, { inverseFlattening: 0 }),
    ]) {
      const [xyz, back, again] = [0, 1, 2].map(() => new Float64Array(3 * n)) as [
        Float64Array,
        Float64Array,
        Float64Array,
      ];
      toGeocentricAll(ellipsoid, geodetic, xyz);
      toGeodeticAll(ellipsoid, xyz, back);
      toGeocentricAll(ellipsoid, back, again);
      for (let i = 0; i < 3 * n; i += 3) {
        const radius = Math.hypot(xyz[i]!, xyz[i + 1]!, xyz[i + 2]!);
        // At 26 000 km three units of the last bit are 17 nanometres.
        const allowed = Math.max(5e-9, 3 * 2 ** -52 * radius);
        const apart = Math.max(...[0, 1, 2].map((k) => Math.abs(again[i + k]! - xyz[i + k]!)));
        const height = Math.abs(back[i + 2]! - geodetic[i + 2]!);
        expect({ i, ok: apart <= allowed && height <= allowed }).toEqual({ i, ok: true });
      }
    }
  });

  test('what is not a point is refused with its number', () => {
    const grs = ellipsoids['GRS 1980'];
    expect(() => toGeodeticAll(grs, new Float64Array(4), new Float64Array(4))).toThrow(/no points/);
    const xyz = Float64Array.of(4e6, 0, 4e6, 0, 0, 0);
    expect(() => toGeodeticAll(grs, xyz, new Float64Array(6))).toThrow(/centre of the ellipsoid.*point 2/);
    expect(() => toGeocentricAll(grs, Float64Array.of(46, 9, 100), new Float64Array(3))).toThrow(
      /radians|quarter turn/,
    );
    expect(() => toGeocentricAll(grs, Float64Array.of(0.8, Number.NaN, 100), new Float64Array(3))).toThrow(
      /finite/,
    );
    toGeodeticAll(grs, new Float64Array(0), new Float64Array(0));
  });

  test('an ellipsoid is defined by its axis and one more parameter', () => {
    const byB = ellipsoidFrom('x', 6_378_249.2, { semiMinorAxis: 6_356_515 });
    expectClose(1 / byB.f, 293.4660212936, { within: 1e-9 });
    expect(() => ellipsoidFrom('x', 6_378_137, { semiMinorAxis: 6_400_000 })).toThrow(/flattening of x/);
    expect(() => ellipsoidFrom('x', -1, { flattening: 0 })).toThrow(/semi-major axis/);
  });
});
