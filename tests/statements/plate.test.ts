import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { axesAt, geocentric, type Place } from '@stillmark/data/synthetic/place.ts';
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { commit, computeState, ingest, nodeFiles, type Effects } from '@stillmark/pipeline';
import type { DisplacementStatement, SiteView, StationRecord } from '@stillmark/records';
import { networkSentences } from '@stillmark/wording';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

// Absolute positions on the Eurasian plate: a year of its motion, some 23 mm to the north-east, must not be told as displacement.
// The motion is planted with the pole of Altamimi et al. (2023), table 1, by a cross product of its own.

const hour = 3_600_000;
const day = 24 * hour;
const from = Date.parse('2025-01-06T00:00:00Z');
const reference = { fromMs: from, toMs: from + 28 * day };
const places: Record<string, Place> = {
  B1: { latitude: 47.1, longitude: 11.2, height: 1200 },
  B2: { latitude: 47.104, longitude: 11.209, height: 1260 },
  S1: { latitude: 47.101, longitude: 11.204, height: 1100 },
  S2: { latitude: 47.102, longitude: 11.206, height: 1110 },
};
const milliarcsecond = Math.PI / 180 / 3_600_000;
const pole = [-0.085, -0.519, 0.753].map((v) => v * milliarcsecond) as [number, number, number];

/**
 * ITRF2020 to ETRF2000 with the parameters of EPSG 10586 (position vector, 2015.0) written out: translations in mm, scale in ppb and
 * rotations in mas, each with its rate a year.
 */
function toEtrf2000([x, y, z]: number[], year: number): number[] {
  const t = year - 2015;
  const [tx, ty, tz] = [53.8 + 0.1 * t, 51.8, -82.2 - 1.7 * t].map((v) => v / 1000);
  const d = (2.25 + 0.11 * t) * 1e-9;
  const [rx, ry, rz] = [2.106 + 0.081 * t, 12.74 + 0.49 * t, -20.592 - 0.792 * t].map(
    (v) => v * milliarcsecond,
  );
  return [
    x! + tx! + d * x! - rz! * y! + ry! * z!,
    y! + ty! + rz! * x! + d * y! - rx! * z!,
    z! + tz! - ry! * x! + rx! * y! + d * z!,
  ];
}

function positions(inEtrf: boolean): string {
  const random = source(20);
  const rows: string[] = [];
  for (const [station, place] of Object.entries(places)) {
    const start = geocentric(place);
    const axes = axesAt(place);
    const noise = [0, 1, 2].map((k) => whitePlusFlicker(24 * 40, k === 2 ? 4 : 2, 0.2, random));
    for (let i = 0; i < 24 * 40; i++) {
      // Four weeks of reference, then ten days a year later.
      const timeMs = from + i * hour + (i < 24 * 30 ? 0 : 350 * day);
      const years = (timeMs - Date.parse('2025-01-01T00:00:00Z')) / (365.25 * day);
      const moved = station === 'S2' && i >= 24 * 30 ? 15 : 0;
      const xyz = [0, 1, 2].map((k) => {
        const [a, b] = [(k + 1) % 3, (k + 2) % 3];
        const plate = pole[a]! * start[b]! - pole[b]! * start[a]!;
        const local =
          axes.east[k]! * (noise[0]![i]! + moved) +
          axes.north[k]! * noise[1]![i]! +
          axes.up[k]! * noise[2]![i]!;
        return start[k]! + plate * years + local / 1000;
      });
      const year = 2025 + years;
      const delivered = (inEtrf ? toEtrf2000(xyz, year) : xyz).map((v) => v.toFixed(5));
      const time = `${new Date(timeMs).toISOString().slice(0, 19)}Z`;
      rows.push([station, time, ...delivered, '1e-6', '0', '0', '1e-6', '0', '4e-6'].join(','));
    }
  }
  return `station,time,x,y,z,xx,xy,xz,yy,yz,zz\n${rows.join('\n')}\n`;
}

const yaml = (plate: string, more = '', stream = ''): string => `stillmark: 1
title: A slope on a plate
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 20 mm }
${more}
stations:
${Object.entries(places)
  .map(
    ([id, p]) =>
      `  - { id: ${id}, role: ${id.startsWith('B') ? 'base' : 'monitoring'}, on: ground, position: { latitude: ${p.latitude}, longitude: ${p.longitude}, height: ${p.height} } }`,
  )
  .join('\n')}
streams:
  - name: ppp
    kind: absolute
    plate: ${plate}
${stream}
    solution: epoch-wise
    files: [a.csv]
    columns: { station: station, time: time, x: x, y: y, z: z, xx: xx, xy: xy, xz: xz, yy: yy, yz: yz, zz: zz }
`;

const effects: Effects = {
  files: nodeFiles,
  progress: () => {},
  nowMs: () => Date.parse('2026-12-01T00:00:00Z'),
};
let folder: string;
let state: SiteView;
const stateOf = async (plate: string, more = '', stream = ''): Promise<SiteView> => {
  const project = join(folder, `${plate}${stream}`.replaceAll(/\W/g, ''));
  await mkdir(project, { recursive: true });
  await writeFile(join(project, 'project.yaml'), yaml(plate, more, stream));
  await writeFile(join(project, 'a.csv'), positions(stream.includes('ETRF2000')));
  const { problems } = await ingest(project, effects);
  expect(problems).toEqual([]);
  await commit(
    project,
    { stations: Object.keys(places), ...reference, by: 'test', committedMs: reference.toMs },
    effects,
  );
  return computeState(project, undefined, { name: 'test', version: '0' }, effects);
};
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-plate-'));
  state = await stateOf('{ model: ITRF2020, name: EURA, epoch: 2025.0 }');
}, 120_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

const station = (view: SiteView, id: string): StationRecord =>
  view.snapshot.stations.find((s) => s.id === id)!;
const displaced = (view: SiteView, id: string): DisplacementStatement =>
  station(view, id).statement as DisplacementStatement;

describe('absolute positions', () => {
  test('a year of plate motion is not told as displacement, and a movement of 15 mm is', () => {
    expect(state.snapshot.headline).toMatchObject({ moved: ['S2'], still: ['S1'], open: [] });
    const { east_mm, north_mm, horizontal } = displaced(state, 'S2');
    expect(Math.hypot(east_mm - 15, north_mm)).toBeLessThan(2.5 * horizontal.plusMinus_mm);
  });

  test('with the pole of another plate everything seems to move: the pole does the work', async () => {
    const wrong = await stateOf('{ model: ITRF2020, name: NOAM, epoch: 2025.0 }');
    expect(wrong.snapshot.headline.moved).toEqual(['S1', 'S2']);
    expect(displaced(wrong, 'S1').horizontal.magnitude_mm).toBeGreaterThan(15);
  }, 120_000);

  test('no base is held, each says something of itself, and the plate is in the snapshot', () => {
    expect(state.snapshot.network).toMatchObject({
      held: [],
      pairs: [],
      untested: 'no base is seen from another one',
    });
    expect(station(state, 'B1').stream).toMatchObject({
      kind: 'absolute',
      plate: { model: 'ITRF2020', code: 'EURA', name: 'Eurasia', epoch: 2025 },
    });
    expect(networkSentences(state.snapshot).join(' ')).toContain(
      'By its absolute positions on the plate Eurasia (stream ppp), no movement of B1 is distinguishable',
    );
  });

  test('delivered in ETRF2000 they are brought to the frame of the project, each at its own time', async () => {
    const grid = `map:
  projection: EPSG:25832
  frame: ETRF2000
  siteGrid: { name: works grid, map: { easting: 667000, northing: 5219000 }, site: { x: 0, y: 0 }, bearing: 30, scale: 1.001 }`;
    const brought = await stateOf(
      '{ model: ITRF2020, name: EURA, epoch: 2025.0 }',
      grid,
      '    frame: { name: ETRF2000 }',
    );
    for (const id of ['S1', 'S2']) {
      const [a, b] = [displaced(state, id), displaced(brought, id)];
      // Years count from an epoch of their own in the planting, and coordinates are written to hundredths of a millimetre.
      expect(Math.abs(a.east_mm - b.east_mm)).toBeLessThan(0.05);
      expect(Math.abs(a.north_mm - b.north_mm)).toBeLessThan(0.05);
      expect(Math.abs(a.up_mm - b.up_mm)).toBeLessThan(0.05);
    }
    expect(station(brought, 'S2').stream).toMatchObject({ delivered: { name: 'ETRF2000' } });

    // By PROJ 9.1.1: cs2cs EPSG:9988 EPSG:25832 of S2's approximate position at 2025.0 is compared in the tests of the command;
    // here that the movement is turned by convergence and bearing, and not scaled.
    const { grid: turned, east_mm, north_mm } = displaced(brought, 'S2');
    const { onMap } = station(brought, 'S2');
    const y = ((onMap!.convergenceDeg + 30) * Math.PI) / 180;
    expect(turned!.y_mm).toBeCloseTo(Math.sin(y) * east_mm + Math.cos(y) * north_mm, 9);
    expect(turned!.x_mm).toBeCloseTo(Math.cos(y) * east_mm - Math.sin(y) * north_mm, 9);
    expect(Math.hypot(turned!.x_mm, turned!.y_mm)).toBeCloseTo(Math.hypot(east_mm, north_mm), 9);
    expect(onMap!.of).toBe('reference');
    expect(brought.snapshot.project.grid).toMatchObject({ frame: 'ETRF2000', epoch: 2025 });
  }, 120_000);

  test('a plate that the model does not have is told with those it has', async () => {
    await expect(stateOf('{ model: ITRF2020, name: SUND, epoch: 2025.0 }')).rejects.toThrow(
      /has no plate 'SUND'/,
    );
  }, 120_000);
});
