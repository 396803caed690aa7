import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source, whitePlusFlicker, type Source } from '@stillmark/data/synthetic/noise.ts';
import { axesAt, geocentric, type Place } from '@stillmark/data/synthetic/place.ts';
import { commit, computeState, ingest, nodeFiles, type Effects } from '@stillmark/pipeline';
import { ProblemError } from '@stillmark/problems';
import type { SiteView, StationRecord } from '@stillmark/records';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

// Sixty-six days of a small structure seen from two bases, with a third that both see. Planted: all of it moves at once, one station goes
// faster and faster, and one processing is wrong by six millimetres for one station. No computation reads it.

const hour = 3_600_000;
const day = 24 * hour;
const from = Date.parse('2025-03-01T00:00:00Z');
const days = 66;
const step = 3 * hour;
const places: Record<string, Place> = {
  B1: { latitude: 47.1, longitude: 11.2, height: 1200 },
  B2: { latitude: 47.104, longitude: 11.212, height: 1210 },
  B3: { latitude: 47.099, longitude: 11.209, height: 1195 },
  S1: { latitude: 47.101, longitude: 11.204, height: 1190 },
  S2: { latitude: 47.1012, longitude: 11.2045, height: 1188 },
  S3: { latitude: 47.1015, longitude: 11.205, height: 1185 },
  S4: { latitude: 47.1018, longitude: 11.2055, height: 1185 },
};
/** The structure jumps 9 mm north on day 33; S3 also moves east from day 36 on, its inverse velocity zero 12 days after the end. */
const left = 12;
const span = 30;
const moved = (id: string, d: number): [number, number, number] => {
  const all = id.startsWith('S') && d >= 33 ? 9 : 0;
  const own = id === 'S3' && d >= 36 ? -0.25 * (span + left) * Math.log1p(-(d - 36) / (span + left)) : 0;
  return [own, all, 0];
};
/** The stream from B2 has S2 6 mm east of where it is from day 40 on. */
const fault = (id: string, base: string, d: number): number =>
  id === 'S2' && base === 'B2' && d >= 40 ? 6 : 0;

function positions(): Record<string, string> {
  const random = source(77);
  const n = (days * day) / step;
  const noiseOf = (r: Source): Float64Array[] =>
    [1.4, 1.4, 2.8].map((white) => whitePlusFlicker(n, white, white / 10, r));
  const noise = Object.fromEntries(Object.keys(places).map((id) => [id, noiseOf(random)]));
  const header = 'station,time,x,y,z,xx,xy,xz,yy,yz,zz';
  const csv = (base: string): string => {
    const rows = Object.keys(places).flatMap((id) => {
      if (id === base) return [];
      const start = geocentric(places[id]!);
      const axes = axesAt(places[id]!);
      return Array.from({ length: n }, (_, i) => {
        const d = (i * step) / day;
        const m = moved(id, d);
        const of = (k: 0 | 1 | 2): number =>
          m[k] + (k === 0 ? fault(id, base, d) : 0) + noise[id]![k]![i]! - noise[base]![k]![i]!;
        const xyz = [0, 1, 2].map((k) =>
          (start[k]! + (axes.east[k]! * of(0) + axes.north[k]! * of(1) + axes.up[k]! * of(2)) / 1000).toFixed(
            5,
          ),
        );
        const time = `${new Date(from + i * step).toISOString().slice(0, 19)}Z`;
        return [id, time, ...xyz, '1e-6', '0', '0', '1e-6', '0', '4e-6'].join(',');
      });
    });
    return `${header}\n${rows.join('\n')}\n`;
  };
  return { 'b1.csv': csv('B1'), 'b2.csv': csv('B2') };
}

const station = (id: string): string => {
  const { latitude, longitude, height } = places[id]!;
  return `  - { id: ${id}, role: ${id.startsWith('B') ? 'base' : 'monitoring'}, on: ground, position: { latitude: ${latitude}, longitude: ${longitude}, height: ${height} } }`;
};
const columns =
  'columns: { station: station, time: time, x: x, y: y, z: z, xx: xx, xy: xy, xz: xz, yy: yy, yz: yz, zz: zz }';
const yaml = `stillmark: 1
title: A small structure
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 20 mm }
reference: { constellations: [GPS] }
responsible: [{ role: measurement, name: somebody }]
stations:
${Object.keys(places).map(station).join('\n')}
streams:
  - { name: from-B1, kind: relative, base: B1, solution: epoch-wise, files: [b1.csv], ${columns} }
  - { name: from-B2, kind: relative, base: B2, solution: epoch-wise, files: [b2.csv], ${columns} }
pairs:
  - { stations: [S1, S4], name: ends }
triggers:
  - name: whole
    quantity: north
    levels: [{ name: a, at: 5 mm, responsible: measurement }]
  - name: ends apart
    quantity: distance
    levels: [{ name: a, at: 5 mm, responsible: measurement }]
`;

const effects: Effects = {
  files: nodeFiles,
  progress: () => {},
  nowMs: () => Date.parse('2026-12-01T00:00:00Z'),
};
let folder: string;
let view: SiteView;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-two-streams-'));
  await writeFile(join(folder, 'project.yaml'), yaml);
  for (const [name, text] of Object.entries(positions())) await writeFile(join(folder, name), text);
  const { problems } = await ingest(folder, effects);
  if (problems.length > 0) throw new ProblemError(problems);
  await commit(
    folder,
    {
      stations: Object.keys(places),
      fromMs: from,
      toMs: from + 28 * day,
      by: 'test',
      committedMs: from + 28 * day,
    },
    effects,
  );
  view = await computeState(folder, undefined, { name: 'test', version: '0' }, effects);
}, 120_000);
afterAll(() => rm(folder, { recursive: true, force: true }));
const recordOf = (id: string): StationRecord => view.snapshot.stations.find((s) => s.id === id)!;

test('the whole structure moved: its stations together, other bases not; who moved besides moved alone', () => {
  const [first, second] = view.snapshot.network.common;
  expect(first!.hypotheses[0]).toMatchObject({ kind: 'structure', alone: ['S3'] });
  expect(second!.hypotheses[0]!.kind).toBe('structure');
  expect(second!.hypotheses[0]!.alone.toSorted()).toEqual(['S2', 'S3']);
  for (const { hypotheses } of [first!, second!]) {
    const { north_mm, northSigma_mm } = hypotheses[0]!.common!;
    expect(Math.abs(north_mm - 9)).toBeLessThan(3 * northSigma_mm);
  }
});

test('a station whose streams disagree beyond what their bases do is named, it alone', () => {
  const { closures } = view.snapshot.network;
  const found = closures.filter((c) => c.horizontal.distinguishable || c.up.distinguishable);
  expect(closures.map(({ id }) => id)).toEqual(['S1', 'S2', 'S3', 'S4']);
  expect(found.map(({ id }) => id)).toEqual(['S2']);
  // The stream from B1 less that from B2.
  expect(Math.abs(found[0]!.east_mm + 6)).toBeLessThan(1.5 * found[0]!.horizontal.plusMinus_mm);
});

test('the bases keep their places meanwhile', () => {
  expect(view.snapshot.network.stability!.finding.kind).toBe('congruent');
});

describe('one station goes faster and faster', () => {
  test('it is told of that one alone, with an interval that holds the planted time', () => {
    const { acceleration } = recordOf('S3');
    expect(acceleration).toBeDefined();
    expect(acceleration!.earliestDays).toBeLessThan(left);
    expect(acceleration!.latestDays ?? Number.POSITIVE_INFINITY).toBeGreaterThan(left);
    expect(acceleration!.last_mm).toBeGreaterThan(2 * acceleration!.first_mm);
    for (const id of ['S1', 'S2', 'S4']) expect(recordOf(id).acceleration).toBeUndefined();
  });
});

test('a level of north is reached by all stations at once, one of the distance between two of them by none', () => {
  const [north, distance] = view.snapshot.triggers;
  expect(north!.watched.map(({ of, state }) => [of, state])).toEqual(
    ['S1', 'S2', 'S3', 'S4'].map((id) => [id, { condition: 'measured', level: 1 }]),
  );
  for (const { changes } of north!.watched) {
    const rise = changes.find(({ to }) => to.level === 1)!;
    const delay = (Date.parse(rise.at) - (from + 33 * day)) / day;
    // Two of three means of a day.
    expect(delay).toBeGreaterThanOrEqual(2);
    expect(delay).toBeLessThanOrEqual(4);
  }
  expect(distance!.watched).toMatchObject([{ of: 'ends', state: { condition: 'measured', level: 0 } }]);
});
