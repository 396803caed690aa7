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

function positions(): string {
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
        return (start[k]! + plate * years + local / 1000).toFixed(4);
      });
      const time = `${new Date(timeMs).toISOString().slice(0, 19)}Z`;
      rows.push([station, time, ...xyz, '1e-6', '0', '0', '1e-6', '0', '4e-6'].join(','));
    }
  }
  return `station,time,x,y,z,xx,xy,xz,yy,yz,zz\n${rows.join('\n')}\n`;
}

const yaml = (plate: string): string => `stillmark: 1
title: A slope on a plate
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 20 mm }
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
const stateOf = async (plate: string): Promise<SiteView> => {
  const project = join(folder, plate.replaceAll(/\W/g, ''));
  await mkdir(project, { recursive: true });
  await writeFile(join(project, 'project.yaml'), yaml(plate));
  await writeFile(join(project, 'a.csv'), positions());
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
    expect(state.snapshot.network).toEqual({ held: [], pairs: [] });
    expect(station(state, 'B1').stream).toMatchObject({
      kind: 'absolute',
      plate: { model: 'ITRF2020', code: 'EURA', name: 'Eurasia', epoch: 2025 },
    });
    expect(networkSentences(state.snapshot).join(' ')).toContain(
      'By its absolute positions on the plate Eurasia (stream ppp), no movement of B1 is distinguishable',
    );
  });

  test('a plate that the model does not have is told with those it has', async () => {
    await expect(stateOf('{ model: ITRF2020, name: SUND, epoch: 2025.0 }')).rejects.toThrow(
      /has no plate 'SUND'/,
    );
  }, 120_000);
});
