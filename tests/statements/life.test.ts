import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { axesAt, geocentric, type Place } from '@stillmark/data/synthetic/place.ts';
import { commit, commitResponse, computeState, ingest, nodeFiles, type Effects } from '@stillmark/pipeline';
import { formatProblems, ProblemError } from '@stillmark/problems';
import type { DisplacementStatement, ProfileSegment, SiteView, StationRecord } from '@stillmark/records';
import { againstSentence, responseSentences, ZoneClock } from '@stillmark/wording';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

// Two hundred days of a small dam: a reservoir that moves one station, an antenna that is replaced by another three metres away, and a
// station that settles against its neighbour. Everything is planted here; no computation reads it.

const hour = 3_600_000;
const day = 24 * hour;
const from = Date.parse('2025-03-01T00:00:00Z');
const days = 200;
const step = 3 * hour;
const replaced = from + 90 * day;
const places: Record<string, Place> = {
  B1: { latitude: 47.1, longitude: 11.2, height: 1200 },
  S1: { latitude: 47.101, longitude: 11.204, height: 1190 },
  S2: { latitude: 47.1012, longitude: 11.2045, height: 1188 },
  S2b: { latitude: 47.10122, longitude: 11.20453, height: 1189 },
  S3: { latitude: 47.1015, longitude: 11.205, height: 1185 },
};
/** Metres above its lowest: filled in a month, held, drawn down, filled again higher. */
const water = (ms: number): number => {
  const d = (ms - from) / day;
  const ramp = (a: number, b: number): number => Math.min(1, Math.max(0, (d - a) / (b - a)));
  return 10 * (ramp(40, 70) - ramp(95, 120)) + 16 * ramp(150, 180);
};
/** East, north and up in mm. */
const moved = (id: string, ms: number): [number, number, number] => {
  if (id === 'S1') return [0.6 * water(ms), 0, 0];
  // It settles 0.25 mm a day from day 100 on, under either antenna.
  if (id === 'S2' || id === 'S2b') return [0, 0, -0.25 * Math.max(0, (ms - from) / day - 100)];
  return [0, 0, 0];
};

function positions(): string {
  const random = source(42);
  const n = (days * day) / step;
  const noiseOf = (): Float64Array[] =>
    [2, 2, 4].map((white) => whitePlusFlicker(n, white, white / 8, random));
  const base = noiseOf();
  const rows: string[] = [];
  for (const id of ['S1', 'S2', 'S2b', 'S3']) {
    const start = geocentric(places[id]!);
    const axes = axesAt(places[id]!);
    const noise = noiseOf();
    for (let i = 0; i < n; i++) {
      const ms = from + i * step;
      if ((id === 'S2' && ms >= replaced) || (id === 'S2b' && ms < replaced)) continue;
      const m = moved(id, ms);
      const [e, no, u] = [0, 1, 2].map((k) => m[k]! + noise[k]![i]! - base[k]![i]!) as [
        number,
        number,
        number,
      ];
      const xyz = [0, 1, 2].map((k) =>
        (start[k]! + (axes.east[k]! * e + axes.north[k]! * no + axes.up[k]! * u) / 1000).toFixed(5),
      );
      rows.push(
        [
          id,
          `${new Date(ms).toISOString().slice(0, 19)}Z`,
          ...xyz,
          '1e-6',
          '0',
          '0',
          '1e-6',
          '0',
          '4e-6',
        ].join(','),
      );
    }
  }
  return `station,time,x,y,z,xx,xy,xz,yy,yz,zz\n${rows.join('\n')}\n`;
}

function levels(): string {
  const rows = Array.from({ length: days * 4 }, (_, i) => {
    const ms = from + 6 * i * hour;
    return `${new Date(ms).toISOString().slice(0, 19)}Z,${(800 + water(ms)).toFixed(2)}`;
  });
  return `time,level\n${rows.join('\n')}\n`;
}

const station = (id: string, more = ''): string => {
  const { latitude, longitude, height } = places[id]!;
  const role = id.startsWith('B') ? 'base' : 'monitoring';
  return `  - { id: ${id}, role: ${role}, on: ground, position: { latitude: ${latitude}, longitude: ${longitude}, height: ${height} }${more} }`;
};
const yaml = `stillmark: 1
title: A small dam
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 20 mm }
reference: { constellations: [GPS] }
stations:
${[station('B1'), station('S1'), station('S2'), station('S2b', `, succeeds: { station: S2, at: ${new Date(replaced).toISOString()} }`), station('S3')].join('\n')}
streams:
  - name: local
    kind: relative
    base: B1
    solution: epoch-wise
    files: [a.csv]
    columns: { station: station, time: time, x: x, y: y, z: z, xx: xx, xy: xy, xz: xz, yy: yy, yz: yz, zz: zz }
sensors:
  - { name: water, what: reservoir level, unit: m, files: [level.csv], columns: { time: time, value: level }, response: { longestLag: 3 d } }
statements: { sidereal: { days: 7 } }
pairs:
  - { stations: [S3, S2b], name: across the joint }
lines:
  - { stations: [S1, S2b, S3], name: crest }
`;

const effects: Effects = {
  files: nodeFiles,
  progress: () => {},
  nowMs: () => Date.parse('2026-12-01T00:00:00Z'),
};
let folder: string;
let state: SiteView;
const reference = { fromMs: from + 5 * day, toMs: from + 33 * day };
const learn = (fromDay: number, toDay: number, more = {}): ReturnType<typeof commitResponse> =>
  commitResponse(
    folder,
    {
      stations: ['S1', 'S3'],
      fromMs: from + fromDay * day,
      toMs: from + toDay * day,
      by: 'test',
      committedMs: from + toDay * day,
      ...more,
    },
    effects,
  );
const messageOf = async (promise: Promise<unknown>): Promise<string> => {
  try {
    await promise;
    return '';
  } catch (error) {
    return formatProblems((error as ProblemError).problems);
  }
};
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-life-'));
  await mkdir(folder, { recursive: true });
  await writeFile(join(folder, 'project.yaml'), yaml);
  await writeFile(join(folder, 'a.csv'), positions());
  await writeFile(join(folder, 'level.csv'), levels());
  const { problems } = await ingest(folder, effects);
  if (problems.length > 0) throw new ProblemError(problems);
  await commit(
    folder,
    { stations: ['S1', 'S2', 'S3'], ...reference, by: 'test', committedMs: reference.toMs },
    effects,
  );
}, 120_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

const recordOf = (view: SiteView, id: string): StationRecord =>
  view.snapshot.stations.find((s) => s.id === id)!;
const settings = (view: SiteView): SiteView['snapshot']['settings'] => view.snapshot.settings;

describe('committing a response', () => {
  test('a span in which the level only rises is refused with the reason, and nothing is written', async () => {
    expect(await messageOf(learn(42, 71))).toMatch(
      /the response of S1 is not ready: .*cannot well be told from a lasting movement/s,
    );
    expect(await messageOf(learn(5, 38))).toMatch(/reservoir level does not vary in the span/);
    await expect(readFile(join(folder, 'response-models.yaml'))).rejects.toThrow(/ENOENT/);
  });

  test('a station without a reference position has nothing to be corrected', async () => {
    expect(
      await messageOf(
        commitResponse(
          folder,
          {
            stations: ['S2b'],
            fromMs: from,
            toMs: from + 130 * day,
            by: 'test',
            committedMs: from + 130 * day,
          },
          effects,
        ),
      ),
    ).toMatch(/no reference position is committed/);
  });

  test('a filling and a drawdown serve; the coefficient that was planted is in the file, within its interval', async () => {
    const [own] = await learn(5, 135);
    const [log] = own!.model.logs;
    // A level that changes slowly tells a lag of a day hardly from none.
    expect(log).toMatchObject({ sensor: 'water', lagFrom_h: 0 });
    expect(Math.abs(log!.east.mm - 0.6)).toBeLessThan(log!.east.plusMinus_mm);
    expect(log!.east.plusMinus_mm).toBeLessThan(0.25);
    const text = await readFile(join(folder, 'response-models.yaml'), 'utf8');
    expect(text).toMatch(/^# Responses to logs/);
    expect(text.match(/- station: /g)).toHaveLength(2);
  });
});

describe('the state at the end', () => {
  beforeAll(async () => {
    state = await computeState(folder, undefined, { name: 'test', version: '0' }, effects);
  }, 120_000);

  test('what the water does is displacement, and less the response it is none; beyond its range it says so', () => {
    const { statement, response } = recordOf(state, 'S1');
    expect((statement as DisplacementStatement).horizontal.distinguishable).toBe(true);
    const { corrected } = response!;
    expect(corrected!.horizontal.distinguishable).toBe(false);
    expect(Math.abs(corrected!.east_mm)).toBeLessThan(2.5 * corrected!.horizontal.plusMinus_mm);
    expect(corrected!.today).toMatchObject([{ sensor: 'water', extrapolated: true }]);
    const sentences = responseSentences(response!, settings(state), new ZoneClock('UTC')).join(' ');
    expect(sentences).toMatch(/Less that, no movement is distinguishable/);
    expect(sentences).toMatch(/Extrapolated: reservoir level stands at 816\.0 m, outside 800\.0 to 810\.0 m/);
  });

  test('before the response was learnt it is not used', async () => {
    const early = await computeState(folder, from + 130 * day, { name: 'test', version: '0' }, effects);
    expect(recordOf(early, 'S1').response?.commitment).toBeUndefined();
    expect(recordOf(early, 'S1').response?.corrected).toBeUndefined();
  }, 120_000);

  test('an antenna that took the place of another goes on from its reference position; three metres are tied out', () => {
    const record = recordOf(state, 'S2b');
    expect(record.ties).toHaveLength(1);
    expect(record.ties[0]!.what).toBe('S2b takes the place of S2');
    expect(Math.hypot(record.ties[0]!.east_mm, record.ties[0]!.north_mm)).toBeGreaterThan(2000);
    const { up, horizontal } = record.statement as DisplacementStatement;
    // 25 mm down by the end, of which the tie took none: it began after it.
    expect(up.distinguishable).toBe(true);
    expect(Math.abs(up.value_mm + 25)).toBeLessThan(1.3 * up.plusMinus_mm);
    expect(horizontal.distinguishable).toBe(false);
    expect(recordOf(state, 'S2').statement).toEqual({ kind: 'no-data' });
  });

  test('the pair tells the settlement, and the line the distortion, across the replacement', () => {
    const [pair] = state.snapshot.pairs;
    const { settlement, distance } = pair!.statement!;
    expect(settlement.distinguishable).toBe(true);
    expect(Math.abs(settlement.value_mm + 25)).toBeLessThan(1.3 * settlement.plusMinus_mm);
    expect(distance.distinguishable).toBe(false);
    expect(againstSentence(pair!, settings(state))).toMatch(/^S3 and S2b: S2b has settled against S3 by /);
    const [line] = state.snapshot.profiles;
    const [first, second] = line!.segments as [ProfileSegment, ProfileSegment];
    expect(first.distortion!.value_mm).toBeLessThan(0);
    expect(second.distortion!.value_mm).toBeGreaterThan(0);
  });

  test('the filter says what it gained, which is nothing where no multipath was planted', () => {
    const { sidereal } = recordOf(state, 'S3').data!;
    expect(sidereal).toMatchObject({ days: 7 });
    expect(Math.abs(sidereal!.up)).toBeLessThan(0.15);
  });
});
