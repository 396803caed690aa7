import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { ellipsoids, radians, toGeocentric, toGeodetic } from './index.ts';

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
