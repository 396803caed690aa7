import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  dilutionOf,
  ellipsoids,
  glonassOrbit,
  keplerOrbit,
  lookAngles,
  orbitConstants,
  radians,
  TopocentricFrame,
  type LookAngles,
} from '../index.ts';

const weekMs = 604_800_000;
const gpsStart = Date.UTC(1980, 0, 6);

// Record of PRN 1 as copies of the almanac of week 963 print it; positions computed with numpy by the algorithm that gives the Galileo case.
const almanac = {
  constants: orbitConstants.GPS,
  toeMs: gpsStart + 963 * weekMs + 589_824_000,
  toe: 589_824,
  sqrtA: 5153.631836,
  eccentricity: 0.007319927216,
  inclination: 0.9701853241,
  node: -0.7462947611,
  perigee: 0.614052959,
  meanAnomaly: -3.114386965,
  nodeRate: -7.714607059e-9,
};

describe('orbits', () => {
  test('of a YUMA almanac (IS-GPS-200, 20.3.3.5.2.1)', () => {
    const orbit = keplerOrbit(almanac);
    const at = (seconds: number): number[] => Object.values(orbit(almanac.toeMs + 1000 * seconds));
    const cases: [number, number[]][] = [
      [0, [-18883348.0414876, -13603667.00298592, -13196598.33116446]],
      [3600, [-11211057.38934577, -13432175.87093992, -20202928.9625759]],
      [-3600, [-22563730.25035442, -14074590.39663332, -2708017.03917343]],
    ];
    for (const [seconds, expected] of cases)
      at(seconds).forEach((value, k) => expectClose(value, expected[k]!, { within: 1e-5 }));
    const grs80 = ellipsoids['GRS 1980'];
    const place = { latitude: radians(50), longitude: radians(10), height: 0 };
    const { azimuth, elevation } = lookAngles(
      TopocentricFrame.atGeodetic(grs80, place),
      orbit(almanac.toeMs),
    );
    expectClose(((azimuth * 180) / Math.PI + 360) % 360, 306.8891493294, { within: 1e-4 });
    expectClose((elevation * 180) / Math.PI, -67.0990345949, { within: 1e-4 });
  });

  test('of Galileo E04 within 2.1 m of the position that the IGS published (MGEX, 2019, day 101)', () => {
    const toeMs = gpsStart + (1024 + 1024) * weekMs + 293_400_000;
    const { x, y, z } = keplerOrbit({
      constants: orbitConstants.Galileo,
      toeMs,
      toe: 293_400,
      sqrtA: 5440.602949142456,
      eccentricity: 0.00024088891223073006,
      inclination: 0.9531656087278083,
      node: -0.36639513583951266,
      perigee: -1.6870064194345724,
      meanAnomaly: -0.38716557650888,
      nodeRate: -5.7695260382035525e-9,
      meanMotionDifference: 3.7394414770330066e-9,
      inclinationRate: -2.36081262303612e-10,
      corrections: {
        cuc: -8.903443813323975e-7,
        cus: 6.61797821521759e-6,
        crc: 194.0625,
        crs: -18.78125,
        cic: 3.166496753692627e-8,
        cis: -1.862645149230957e-8,
      },
    })(toeMs);
    expectClose(x, 10487482.09748488, { within: 1e-6 });
    expectClose(y, 17867447.82819703, { within: 1e-6 });
    expectClose(z, -21131460.72782814, { within: 1e-6 });
    const [px, py, pz] = [10487480.721, 17867448.753, -21131462.002];
    expect(Math.hypot(x - px, y - py, z - pz)).toBeLessThan(2.1);
  });

  test('of a geostationary satellite of BeiDou stay over one place', () => {
    // A satellite without inclination over the equator has elements in the tilted plane; its height and place must not change.
    const semiMajor = Math.cbrt(orbitConstants.BeiDou.mu / orbitConstants.BeiDou.rotation ** 2);
    const orbit = keplerOrbit({
      constants: orbitConstants.BeiDou,
      toeMs: 0,
      toe: 0,
      sqrtA: Math.sqrt(semiMajor),
      eccentricity: 0,
      inclination: radians(5),
      node: Math.PI,
      perigee: 0,
      meanAnomaly: 0,
      nodeRate: 0,
      geostationary: true,
    });
    const first = orbit(0);
    for (const hours of [1, 6, 12, 20]) {
      const later = orbit(hours * 3_600_000);
      expect(Math.hypot(later.x - first.x, later.y - first.y, later.z - first.z)).toBeLessThan(1);
      expect(Math.abs(later.z)).toBeLessThan(1);
    }
  });

  test('of GLONASS conserve what a rotating field conserves, and come back where they began', () => {
    // Jacobi's integral v^2/2 - w^2 (x^2 + y^2)/2 - U is constant without sun and moon; closed form, no source needed.
    const start = {
      timeMs: 0,
      position: [7003008.789, -12206626.953, 21280765.625],
      velocity: [783.5417, 2804.253, 1352.515],
      acceleration: [0, 0, 0],
    } as const;
    const orbit = glonassOrbit(start);
    const jacobi = (ms: number): number => {
      const [p, a, b] = [orbit(ms), orbit(ms - 500), orbit(ms + 500)];
      const v2 = (b.x - a.x) ** 2 + (b.y - a.y) ** 2 + (b.z - a.z) ** 2;
      const r2 = p.x ** 2 + p.y ** 2 + p.z ** 2;
      const u =
        (3.986004418e14 / Math.sqrt(r2)) *
        (1 + 1.08262575e-3 * (6_378_136 ** 2 / r2) * (0.5 - (1.5 * p.z ** 2) / r2));
      return v2 / 2 - (7.292115e-5 ** 2 * (p.x ** 2 + p.y ** 2)) / 2 - u;
    };
    const energy = jacobi(1000);
    for (const minutes of [5, 15, 30])
      expect(Math.abs(jacobi(minutes * 60_000) / energy - 1)).toBeLessThan(1e-8);
    const there = glonassOrbit({
      ...start,
      position: Object.values(orbit(900_000)) as [number, number, number],
      velocity: (['x', 'y', 'z'] as const).map(
        (k) => (orbit(901_000)[k] - orbit(899_000)[k]) / 2,
      ) as unknown as [number, number, number],
    });
    // The velocity comes from a difference quotient: a millimetre a second over a quarter of an hour.
    expect(
      Math.hypot(there(-900_000).x - start.position[0], there(-900_000).y - start.position[1]),
    ).toBeLessThan(1);
  });
});

describe('dilution of precision', () => {
  test('of satellites in a regular tetrahedron is the least that four can give (closed form: sqrt(9/4))', () => {
    const low = Math.asin(-1 / 3);
    const angles: LookAngles[] = [0, 1, 2].map((k) => ({ azimuth: (k * 2 * Math.PI) / 3, elevation: low }));
    const found = dilutionOf([...angles, { azimuth: 0, elevation: Math.PI / 2 }])!;
    // Directions sum to zero: N = 4/3 I, each variance 3/4.
    expectClose(found.pdop, 1.5, { within: 1e-12 });
    expectClose(found.hdop, Math.sqrt(1.5), { within: 1e-12 });
    expectClose(found.vdop, Math.sqrt(0.75), { within: 1e-12 });
  });

  test('is that of the design matrix with its clock (numpy, linalg.inv(A.T @ A))', () => {
    const sky = [[10, 15], [80, 40], [170, 65], [250, 30], [300, 20], [355, 75]] as const; // prettier-ignore
    const found = dilutionOf(
      sky.map(([azimuth, elevation]) => ({ azimuth: radians(azimuth), elevation: radians(elevation) })),
    )!;
    expectClose(found.pdop, 2.713395030194715, { within: 1e-6 });
    expectClose(found.hdop, 1.5113676644620995, { within: 1e-6 });
    expectClose(found.vdop, 2.2535040210090056, { within: 1e-6 });
  });

  test('of two constellations is that of the design matrix with a clock for each (numpy); one satellite of a third adds nothing', () => {
    const at = ([azimuth, elevation]: readonly [number, number]): LookAngles => ({ azimuth: radians(azimuth), elevation: radians(elevation) }); // prettier-ignore
    const first = (
      [
        [10, 15],
        [80, 40],
        [170, 65],
        [250, 30],
      ] as const
    ).map(at);
    const second = (
      [
        [300, 20],
        [355, 75],
        [120, 25],
      ] as const
    ).map(at);
    for (const found of [dilutionOf(first, second)!, dilutionOf(first, [at([45, 45])], [], second)!]) {
      expectClose(found.pdop, 1.9595032329119615, { within: 1e-12 });
      expectClose(found.hdop, 1.0745670604966888, { within: 1e-12 });
      expectClose(found.vdop, 1.638584313451076, { within: 1e-12 });
    }
    expect(dilutionOf(first.slice(0, 2), second.slice(0, 2))).toBeUndefined();
  });

  test('is none where satellites leave a direction open', () => {
    const ring = [0, 1, 2, 3, 4].map((k) => ({ azimuth: k, elevation: 0.4 }));
    expect(dilutionOf(ring)).toBeUndefined();
    expect(dilutionOf(ring.slice(0, 3))).toBeUndefined();
  });
});
