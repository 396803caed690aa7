import { satellites as invented, satelliteAt, seenAt, weekStart } from '@stillmark/data/larkmoor-dam/sky.ts';
import { centre } from '@stillmark/data/larkmoor-dam/layout.ts';
import { source } from '@stillmark/data/synthetic/noise.ts';
import {
  dilutionOf,
  ellipsoids,
  keplerOrbit,
  orbitConstants,
  radians,
  SkyPositions,
  TopocentricFrame,
  type KnownOrbit,
} from '@stillmark/geodesy';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  arrayMargin,
  baseGeometry,
  benchTest,
  clearance,
  clearanceOfAll,
  daysOfAutonomy,
  drawReach,
  effectOf,
  Horizon,
  powerPlan,
  sameDeviation,
  scheduleOf,
  selfCrossing,
  skyPlan,
  skyTable,
  skyTracks,
  troughReach,
  type BenchMeasurement,
} from './index.ts';

const frame = TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], {
  latitude: radians(centre.latitude),
  longitude: radians(centre.longitude),
  height: centre.height,
});
const hour = 3_600_000;

describe('the horizon', () => {
  const horizon = new Horizon([{ azimuth: 90, elevation: 30 }, { azimuth: 180, elevation: 10 }, { azimuth: 350, elevation: 50 }], 5); // prettier-ignore
  test.each([
    [90, 30],
    [135, 20],
    [180, 10],
    [350, 50],
    // From 350 over north to 90: a hundred degrees.
    [0, 48],
    [40, 40],
    [-10, 50],
    [450, 30],
  ])('%i° stands at %i°', (azimuth, elevation) =>
    expectClose(horizon.at(azimuth), elevation, { within: 1e-12 }),
  );
  test('the mask is the least, and alone where nothing stands around', () => {
    expect(new Horizon([{ azimuth: 10, elevation: 2 }], 7).at(99)).toBe(7);
    expect(new Horizon([], 7).at(1)).toBe(7);
  });
});

describe('the sky', () => {
  // Orbits of the invented constellation by the algorithm of IS-GPS-200, against the circular orbits that its generator writes apart from it.
  const orbits = invented
    .filter(({ constellation }) => constellation.letter !== 'R')
    .map(({ name, constellation, node, latitude }): KnownOrbit => ({
      satellite: name,
      fromMs: weekStart - 1e10,
      toMs: weekStart + 1e10,
      referenceMs: weekStart,
      healthy: true,
      orbit: keplerOrbit({
        constants: { ...orbitConstants.Galileo },
        toeMs: weekStart,
        toe: 0,
        sqrtA: constellation.sqrtA,
        eccentricity: 0,
        inclination: constellation.inclination,
        node,
        perigee: 0,
        meanAnomaly: latitude,
        nodeRate: 0,
      }),
    }));
  const sky = new SkyPositions(orbits);
  const task = {
    frame,
    horizon: new Horizon([], 10),
    sky,
    fromGpsMs: weekStart,
    spanMs: 24 * hour,
    stepMs: 300_000,
    limits: { satellites: 12, pdop: 2 },
  };
  const table = skyTable(task);

  test('satellites above the mask and their dilution are those of the generator at every step of a day', () => {
    const plan = skyPlan({ ...task, table });
    let kept = 0;
    plan.afterMs.forEach((after, i) => {
      const seen = invented
        .filter(({ constellation }) => constellation.letter !== 'R')
        .map((s) => ({ letter: s.constellation.letter, ...seenAt(satelliteAt(s, weekStart + after)) }))
        .filter(({ elevation }) => elevation >= 10);
      expect(plan.satellites[i]).toBe(seen.length);
      const { pdop } = dilutionOf(
        ...['C', 'E', 'G'].map((letter) =>
          seen.flatMap((s) =>
            s.letter === letter ? [{ azimuth: radians(s.azimuth), elevation: radians(s.elevation) }] : [],
          ),
        ),
      )!;
      expectClose(plan.pdop[i], pdop, { within: 1e-6 });
      if (seen.length >= 12 && pdop <= 2) kept++;
    });
    expect(plan.within).toBe(kept / plan.afterMs.length);
    expect(plan.medianPdop).toBeLessThan(plan.highPdop);
    expect(plan.fewest).toBeLessThanOrEqual(plan.meanSatellites);
  });

  test('what stands in the south hides satellites, and is worst where it is', () => {
    const free = skyPlan({ ...task, table });
    const walled = skyPlan({ ...task, table, horizon: new Horizon([{ azimuth: 90, elevation: 10 }, { azimuth: 120, elevation: 60 }, { azimuth: 240, elevation: 60 }, { azimuth: 270, elevation: 10 }], 10) }); // prettier-ignore
    expect(walled.meanSatellites).toBeLessThan(0.8 * free.meanSatellites);
    expect(walled.within).toBeLessThan(free.within);
    const nothing = skyPlan({ ...task, table, horizon: new Horizon([{ azimuth: 0, elevation: 90 }], 10) });
    expect(nothing).toMatchObject({ fewest: 0, within: 0, medianPdop: Number.POSITIVE_INFINITY });
  });

  test('tracks are broken where a satellite is hidden, and stay above the mask', () => {
    const tracks = skyTracks(task);
    expect(tracks.length).toBeGreaterThan(40);
    for (const { lines } of tracks)
      for (const line of lines)
        for (const { elevation } of line) expect(elevation).toBeGreaterThanOrEqual(radians(10) - 1e-9);
  });
});

describe('zones', () => {
  const square = [{ east: 0, north: 0 }, { east: 100, north: 0 }, { east: 100, north: 100 }, { east: 0, north: 100 }]; // prettier-ignore
  test.each([
    [50, 50, -50],
    [50, 90, -10],
    [150, 50, 50],
    [130, 140, 50],
    [-30, -40, 50],
    [50, 0, 0],
  ])('(%i, %i) is %i m outside', (east, north, distance) =>
    expectClose(Math.abs(clearance({ east, north }, square)) * (distance < 0 ? -1 : 1), distance, {
      within: 1e-9,
    }),
  );
  test('inside is negative, whichever way the ring is written, and in a bay it is not', () => {
    expect(clearance({ east: 50, north: 50 }, square.toReversed())).toBe(-50);
    const bay = [{ east: 0, north: 0 }, { east: 100, north: 0 }, { east: 100, north: 100 }, { east: 50, north: 20 }, { east: 0, north: 100 }]; // prettier-ignore
    expect(clearance({ east: 50, north: 60 }, bay)).toBeGreaterThan(0);
    expect(clearance({ east: 50, north: 10 }, bay)).toBe(-10);
  });
  test('a ring that crosses itself is found', () => {
    expect(selfCrossing(square)).toBeUndefined();
    expect(selfCrossing([square[0]!, square[2]!, square[1]!, square[3]!])).toEqual([0, 2]);
  });
  test('the reach of a trough (closed form): at its inflection the settlement is 0.607 of the largest', () => {
    const trough = { depth: 20, settlement: 0.02, widthFactor: 0.5, negligible: 0.02 * Math.exp(-0.5) };
    expectClose(troughReach(trough), 10, { within: 1e-12 });
    expect(troughReach({ ...trough, negligible: 0.03 })).toBe(0);
    expectClose(drawReach(100, 45), 100, { within: 1e-9 });
  });

  test('a trough holds 2.5 i S0 of ground a metre of tunnel (Peck 1969; from memory: the root of 2 pi, 2.507)', () => {
    // The volume as the sum of layers, each as wide as the ground that settles by more than its depth.
    const trough = { depth: 20, settlement: 0.02, widthFactor: 0.5, negligible: 0 };
    const layers = 200_000;
    let volume = 0;
    for (let k = 0; k < layers; k++)
      volume += (2 * troughReach({ ...trough, negligible: (0.02 * (k + 0.5)) / layers }) * 0.02) / layers;
    expectClose(volume / (10 * 0.02), 2.507, { within: 1e-3 });
  });

  test('a hole of an area is outside of it; of two areas the one counts that it is in', () => {
    const hole = [{ east: 40, north: 40 }, { east: 60, north: 40 }, { east: 60, north: 60 }, { east: 40, north: 60 }]; // prettier-ignore
    expectClose(clearanceOfAll({ east: 50, north: 52 }, [[square, hole]]), 8, { within: 1e-12 });
    expectClose(clearanceOfAll({ east: 50, north: 65 }, [[square, hole]]), -5, { within: 1e-12 });
    expectClose(clearanceOfAll({ east: 120, north: 50 }, [[square, hole]]), 20, { within: 1e-12 });
    expectClose(clearanceOfAll({ east: 50, north: 52 }, [[square, hole], [hole]]), -8, { within: 1e-12 });
  });
});

test('power of a worst month: a load of 5 W, one hour of sun, five days', () => {
  const task = {
    load: 5,
    sunHours: 1,
    autonomyDays: 5,
    depthOfDischarge: 0.5,
    voltage: 12,
    coldFactor: 0.8,
    arrayFactor: 0.8,
    chargeEfficiency: 0.9,
  };
  const { energy_Wh, array_W, battery_Ah } = powerPlan(task);
  expect(energy_Wh).toBe(120);
  expectClose(array_W, 120 / 0.72, { within: 1e-9 });
  expectClose(battery_Ah, 600 / (12 * 0.4), { within: 1e-9 });
  expectClose(daysOfAutonomy(task, battery_Ah), 5, { within: 1e-9 });
  expectClose(arrayMargin(task, 2 * array_W), 2, { within: 1e-9 });
});

describe('bases', () => {
  const at = (id: string, east: number, north: number) => ({ id, east, north, up: 0 });
  const middle = [at('T1', -10, 0), at('T2', 10, 0)];
  test('that stand around leave no half of the circle open', () => {
    expect(
      baseGeometry([at('B1', 0, 100), at('B2', 100, -60), at('B3', -100, -60)], middle)!.surrounded,
    ).toBe(true);
    expect(baseGeometry([at('B1', 0, 100), at('B2', 50, 100)], middle)).toMatchObject({ surrounded: false });
    expect(baseGeometry([at('B1', 0, 100)], middle)).toEqual({ largestGapDeg: 360, surrounded: false });
    expect(baseGeometry([], middle)).toBeUndefined();
  });
  test('that fail take with them what is told from them alone', () => {
    const stations = [
      ...['B1', 'B2', 'B3'].map((id) => ({ id, role: 'base' as const })),
      ...['T1', 'T2'].map((id) => ({ id, role: 'monitoring' as const })),
    ];
    const streams = [
      { name: 'a', base: 'B1' },
      { name: 'b', base: 'B2' },
    ];
    expect(effectOf(['B1'], stations, streams)).toEqual({
      streams: ['a'],
      weakened: ['T1', 'T2'],
      dark: [],
      basesLeft: 2,
    });
    expect(effectOf(['B1', 'B2'], stations, streams)).toMatchObject({
      streams: ['a', 'b'],
      dark: ['T1', 'T2'],
      basesLeft: 1,
    });
    expect(effectOf(['T1'], stations, streams)).toEqual({
      streams: [],
      weakened: [],
      dark: ['T1'],
      basesLeft: 3,
    });
    expect(effectOf(['B3'], stations, streams)).toMatchObject({ weakened: [], dark: [] });
    // Streams that tell single stations: what the lost one told alone goes dark, the other stays as it was.
    const single = [{ name: 'a', base: 'B1', stations: ['T1'] }, { name: 'b', base: 'B2', stations: ['T2'] }]; // prettier-ignore
    expect(effectOf(['B1'], stations, single)).toMatchObject({ weakened: [], dark: ['T1'] });
  });

  test('times of which no orbits are known are not counted', () => {
    const orbits = invented.slice(0, 20).map(({ name, constellation, node, latitude }): KnownOrbit => ({
      satellite: name,
      fromMs: weekStart - hour,
      toMs: weekStart + 6 * hour,
      referenceMs: weekStart,
      healthy: true,
      orbit: keplerOrbit({ constants: orbitConstants.GPS, toeMs: weekStart, toe: 0, sqrtA: constellation.sqrtA, eccentricity: 0, inclination: constellation.inclination, node, nodeRate: 0, perigee: 0, meanAnomaly: latitude }), // prettier-ignore
    }));
    const span = (hours: number) => skyTable({ sky: new SkyPositions(orbits), fromGpsMs: weekStart, spanMs: hours * hour, stepMs: 600_000 }); // prettier-ignore
    const rest = { frame, horizon: new Horizon([], 10), limits: { satellites: 4, pdop: 20 } };
    const [short, long] = [5, 24].map((hours) => skyPlan({ ...rest, table: span(hours) }));
    expect(span(24).knownShare).toBeCloseTo(0.25, 1);
    expect(long!.fewest).toBeGreaterThan(0);
    expect(Math.abs(long!.within - short!.within)).toBeLessThan(0.1);
    expect(long!.worstHour.afterMs).toBeLessThanOrEqual(6 * hour);
  });
});

test('a start that the orders do not leave room for', () => {
  const day = 24 * hour;
  const task = {
    orders: [{ what: 'receivers', orderedMs: 0, leadMs: 60 * day }, { what: 'masts', orderedMs: 0, leadMs: 20 * day }],
    installation: { fromMs: 50 * day, toMs: 53 * day },
    referenceMs: 14 * day,
    startMs: 80 * day,
    nowMs: 0,
  }; // prettier-ignore
  expect(scheduleOf(task)).toEqual({
    readyMs: 60 * day,
    late: 'receivers',
    earliestMs: 78 * day,
    roomMs: 2 * day,
  });
  expect(scheduleOf({ ...task, startMs: 70 * day }).roomMs).toBe(-8 * day);
  expect(
    scheduleOf({ ...task, orders: [{ ...task.orders[0]!, receivedMs: 40 * day }, task.orders[1]!] }),
  ).toMatchObject({ earliestMs: 68 * day });
  // What was due yesterday and has not come does not come before today.
  expect(scheduleOf({ ...task, nowMs: 65 * day })).toMatchObject({ readyMs: 65 * day, roomMs: -3 * day });
  expect(scheduleOf({ ...task, orders: [] }).late).toBeUndefined();
});

describe('a receiver on the bench (ISO 17123-8)', () => {
  const { normal } = source(3);
  for (let i = 0; i < 40; i++) normal();
  const nominal = { distance: 10, height: 0.5 };
  const measured = (sigma: number, series = 3, outlier = 0): BenchMeasurement[] =>
    Array.from({ length: series * 5 }, (_, k) =>
      ([1, 2] as const).map((point) => ({
        series: Math.floor(k / 5) + 1,
        set: (k % 5) + 1,
        point,
        x: (point === 2 ? 10 : 0) + sigma * normal() + (k === 0 && point === 2 ? outlier : 0),
        y: sigma * normal(),
        h: (point === 2 ? 0.5 : 0) + sigma * normal(),
      })),
    ).flat();
  const stated = { plan: 0.01 * Math.SQRT2, height: 0.01 };

  test('limits are those that the standard prints: 1.15 and 1.22 times the stated deviation (from memory)', () => {
    const found = benchTest({ measurements: measured(0.01), nominal, stated });
    if (typeof found === 'string') throw new Error(found);
    expect(found.procedure).toBe('full');
    expect(found.precision!.plan.freedom).toBe(56);
    expect(found.precision!.height.freedom).toBe(28);
    // scipy.stats.chi2.ppf(0.95, f): 74.4683 and 41.3371.
    expectClose(found.precision!.plan.limit / stated.plan, 1.153166, { within: 1e-6 });
    expectClose(found.precision!.height.limit / stated.height, 1.215042, { within: 1e-6 });
    expectClose(found.limits.height, 0.01 * 2.5 * Math.SQRT2, { within: 1e-12 });
  });

  test('good receivers pass in 18 of 20 and more, receivers twice as bad in none (200 each)', () => {
    const passes = (sigma: number): number =>
      Array.from({ length: 200 }, () => benchTest({ measurements: measured(sigma), nominal, stated })).filter(
        (r) => typeof r !== 'string' && r.precision!.plan.passed && r.precision!.height.passed,
      ).length;
    // Each of the two tests passes 95 of 100.
    expect(passes(0.01)).toBeGreaterThan(170);
    expect(passes(0.02)).toBe(0);
  });

  test('a slip of one set is found by both procedures', () => {
    for (const series of [1, 3]) {
      const found = benchTest({ measurements: measured(0.005, series, 0.2), nominal, stated });
      if (typeof found === 'string') throw new Error(found);
      expect(found.procedure).toBe(series === 1 ? 'simplified' : 'full');
      expect(found.passed).toBe(false);
      expect(found.differences.filter(({ within }) => !within).map(({ set }) => set)).toEqual([1]);
    }
  });

  test('two receivers: the F test of the standard, 0.59 to 1.70 for 56 degrees of freedom (from memory)', () => {
    const of = (sigma: number, freedom: number) => ({ sigma, freedom, limit: 1, passed: true });
    expectClose(sameDeviation(of(Math.sqrt(1.6976), 56), of(1, 56)), 0.05, { within: 1e-4 });
    expectClose(sameDeviation(of(Math.sqrt(0.5891), 56), of(1, 56)), 0.05, { within: 1e-4 });
    expectClose(sameDeviation(of(Math.sqrt(2.1299), 28), of(1, 28)), 0.05, { within: 1e-4 });
  });

  test('what is no test is said to be none', () => {
    expect(benchTest({ measurements: measured(0.01, 2), nominal, stated })).toBe(
      '2 series are neither one (simplified) nor three (full)',
    );
    expect(benchTest({ measurements: measured(0.01).slice(2), nominal, stated })).toBe(
      'series 1 has 4 sets, five are needed',
    );
    expect(benchTest({ measurements: measured(0.01).slice(1), nominal, stated })).toContain(
      'does not measure each of the two points once',
    );
  });
});
