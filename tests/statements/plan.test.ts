import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import geographiclib from 'geographiclib-geodesic';
import { layout, lonLatOf } from '@stillmark/data/larkmoor-dam/layout.ts';
import { satelliteAt, satellites, seenAt } from '@stillmark/data/larkmoor-dam/sky.ts';
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { axesAt, geocentric, type Place } from '@stillmark/data/synthetic/place.ts';
import { computeState, ingest, nodeFiles, type Effects } from '@stillmark/pipeline';
import type { PlanRecord, Snapshot } from '@stillmark/records';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';

const hour = 3_600_000;
const day = 24 * hour;

describe('the plan of the demo dam', () => {
  let plan: PlanRecord;
  beforeAll(async () => {
    const text = await readFile(join(inject('larkmoorSite'), 'snapshot.json'), 'utf8');
    ({ plan } = JSON.parse(text) as Snapshot);
  });
  const of = (id: string): PlanRecord['stations'][number] => plan.stations.find((s) => s.id === id)!;

  test('clearance of the bases is the geodesic to the nearest of many points of the edge (geographiclib)', async () => {
    const zone = JSON.parse(
      await readFile(join(inject('larkmoorSite'), 'snapshot.json'), 'utf8'),
    ) as Snapshot;
    const origin = zone.map.origin;
    expect(origin).toBeDefined();
    // The corners of the zone as its generator has them, a metre apart.
    const along = (from: number, to: number): number[] =>
      Array.from({ length: 36 }, (_, i) => from + ((to - from) * i) / 35);
    const corners = [
      ...along(-430, 430).map((a) => [a, -110 - 40 * Math.cos(a / 273)] as const),
      ...along(430, -430).map((a) => [a, 175 + 35 * Math.cos(a / 273)] as const),
    ];
    const edge = corners.flatMap(([a, d], i) => {
      const [a2, d2] = corners[(i + 1) % corners.length]!;
      const n = Math.max(1, Math.ceil(Math.hypot(a2 - a, d2 - d)));
      return Array.from({ length: n }, (_, k) => lonLatOf(a + ((a2 - a) * k) / n, d + ((d2 - d) * k) / n));
    });
    for (const id of ['B1', 'B2', 'B3']) {
      const [a, d] = layout[id]!;
      const [lon, lat] = lonLatOf(a, d);
      const nearest = Math.min(
        ...edge.map(([x, y]) => geographiclib.Geodesic.WGS84.Inverse(lat, lon, y, x).s12!),
      );
      // The stations are drawn from rounded coordinates; the generator lays them out on a plane.
      expect(Math.abs(Math.abs(of(id).clearance_m!) - nearest)).toBeLessThan(1.5);
    }
    expect(plan.stations.filter(({ clearance_m }) => clearance_m! > 0).map(({ id }) => id)).toEqual([
      'B1',
      'B2',
    ]);
  });

  test('satellites over the horizon, by the circular orbits of the generator and its own look angles', () => {
    const { sky } = of('B1');
    const start = Date.parse(plan.sky!.from) + 18_000;
    // The middle of the dam is half a kilometre from B1: what stands within a tenth of a degree of the mask may differ.
    let differ = 0;
    sky!.satellites.forEach((seen, i) => {
      const all = satellites.filter(
        (s) =>
          s.constellation.letter !== 'R' &&
          seenAt(satelliteAt(s, start + i * plan.sky!.stepMs)).elevation >= 10,
      );
      if (all.length !== seen) differ++;
      expect(Math.abs(all.length - seen!)).toBeLessThanOrEqual(1);
    });
    expect(differ).toBeLessThan(3);
    expect(sky!.satellites).toHaveLength(288);
    // What stands around takes satellites away.
    expect(of('B2').sky!.mean).toBeLessThan(of('T10').sky!.mean);
    expect(of('T10').sky!.mean).toBeLessThan(sky!.mean);
  });

  test('the base in the zone, what fails together, power that is not enough, data that were to be', () => {
    expect(of('B3').clearance_m).toBeLessThan(-50);
    expect(plan.geometry).toMatchObject({ bases: 3, surrounded: false });
    const failures = new Map(plan.failures.map((f) => [f.of, f]));
    expect(failures.get('router of the berm')!.dark).toEqual(['T06', 'T07', 'T08', 'T09']);
    expect(failures.get('B1')).toMatchObject({ streams: ['from-B1'], dark: [], basesLeft: 2 });
    // 6 W are 144 Wh a day; 0.9 h of full sun with 0.8 and 0.85 left of it; 7 days from half of 12 V with 0.8 left in the cold.
    expect(plan.power[0]).toMatchObject({
      energy_Wh: 144,
      array_W: expect.closeTo(235.29, 2),
      battery_Ah: 210,
    });
    expect(plan.power[0]!.installed!.arrayMargin).toBeCloseTo(0.85, 3);
    expect(plan.communications[0]).toMatchObject({
      stations: 11,
      needed_MB: expect.closeTo(429, 9),
      plan_MB: 500,
    });
    expect(plan.start).toMatchObject({ earliest: '2025-09-22', roomDays: 8, referenceDays: 28 });
  });
});

// Sixty days of two antennas on stages: one shows what was set, the stage of the other slips by half of it.
describe('acceptance by known movements', () => {
  const from = Date.parse('2026-03-01T00:00:00Z');
  const moved = from + 20 * day;
  const places: Record<string, Place> = {
    B1: { latitude: 47.1, longitude: 11.2, height: 1200 },
    S1: { latitude: 47.101, longitude: 11.204, height: 1190 },
    S2: { latitude: 47.1012, longitude: 11.2045, height: 1188 },
  };
  const set = { S1: [5, -3, 10], S2: [10, 0, 0] } as Record<string, readonly number[]>;
  const true_ = { S1: [5, -3, 10], S2: [5, 0, 0] } as Record<string, readonly number[]>;
  const instant = (ms: number): string => `${new Date(ms).toISOString().slice(0, 19)}Z`;
  const yaml = `stillmark: 1
title: A stage
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 20 mm }
reference: { constellations: [GPS] }
stations:
${Object.entries(places)
  .map(
    ([id, p]) =>
      `  - { id: ${id}, role: ${id === 'B1' ? 'base' : 'monitoring'}, on: roof, position: { latitude: ${p.latitude}, longitude: ${p.longitude}, height: ${p.height} } }`,
  ) // prettier-ignore
  .join('\n')}
streams:
  - name: local
    kind: relative
    base: B1
    solution: epoch-wise
    files: [a.csv]
    columns: { station: station, time: time, x: x, y: y, z: z, xx: xx, xy: xy, xz: xz, yy: yy, yz: yz, zz: zz }
events:
${['S1', 'S2'].map((id) => `  - { at: ${instant(moved)}, what: stage, kind: instrument, station: ${id} }`).join('\n')}
plan:
  displacementTests:
${Object.entries(set)
  .map(
    ([id, [e, n, u]]) =>
      `    - { station: ${id}, at: ${instant(moved)}, set: { east: ${e} mm, north: ${n} mm, up: ${u} mm } }`,
  ) // prettier-ignore
  .join('\n')}
`;
  const effects: Effects = { files: nodeFiles, progress: () => {}, nowMs: () => from + 100 * day };
  const producer = { name: 'stillmark', version: '0' };
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'stillmark-plan-'));
    await mkdir(folder, { recursive: true });
    await writeFile(join(folder, 'project.yaml'), yaml);
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  test('before the first position the plan stands, and nothing is reported', async () => {
    await expect(computeState(folder, undefined, producer, effects)).rejects.toThrow('no epochs');
    const { snapshot } = await computeState(folder, from, producer, effects);
    expect(snapshot.stations.every(({ statement }) => ['held', 'no-data'].includes(statement.kind))).toBe(
      true,
    );
    expect(snapshot.plan.displacementTests.map(({ reported }) => reported)).toEqual([undefined, undefined]);
    expect(snapshot.plan.geometry).toMatchObject({ bases: 1, largestGapDeg: 360 });
  });

  test('then what the chain reports of them, with its interval', async () => {
    const n = 60 * 24;
    const random = source(7);
    random.uniform();
    const rows = ['S1', 'S2'].flatMap((id) => {
      const axes = axesAt(places[id]!);
      const start = geocentric(places[id]!);
      const noise = [2, 2, 4].map((white) => whitePlusFlicker(n, white, white / 10, random));
      return Array.from({ length: n }, (_, i) => {
        const ms = from + i * hour;
        const m = [0, 1, 2].map((k) => (ms >= moved ? true_[id]![k]! : 0) + noise[k]![i]!);
        const xyz = [0, 1, 2].map((k) =>
          (start[k]! + (axes.east[k]! * m[0]! + axes.north[k]! * m[1]! + axes.up[k]! * m[2]!) / 1000).toFixed(
            5,
          ),
        );
        return [id, instant(ms), ...xyz, '1e-6', '0', '0', '1e-6', '0', '4e-6'].join(',');
      });
    });
    await writeFile(join(folder, 'a.csv'), `station,time,x,y,z,xx,xy,xz,yy,yz,zz\n${rows.join('\n')}\n`);
    await ingest(folder, effects);
    const { snapshot } = await computeState(folder, undefined, producer, effects);
    const [good, slipped] = snapshot.plan.displacementTests;
    for (const { station, reported } of [good!, slipped!]) {
      expect(Math.abs(reported!.east_mm - true_[station]![0]!)).toBeLessThan(2);
      expect(Math.abs(reported!.up_mm - true_[station]![2]!)).toBeLessThan(4);
      expect(reported!.horizontalPlusMinus_mm).toBeLessThan(3);
    }
    expect(good!.reported!.agrees).toBe(true);
    expect(slipped!.reported!.agrees).toBe(false);
  });
});
