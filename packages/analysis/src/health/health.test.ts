import { source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type TrackingRow } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  chosenHours,
  receiverFigures,
  satellitesOf,
  supplyOf,
  suspicionsOf,
  timeFaultsOf,
  type Arrivals,
  type Spans,
} from '../index.ts';

const hour = 3_600_000;
const start = Date.parse('2026-03-01T00:00:00Z');
const hours = (n: number, missing: (i: number) => boolean = () => false): Float64Array =>
  Float64Array.from(
    Array.from({ length: n }, (_, i) => i).filter((i) => !missing(i)),
    (i) => start + i * hour,
  );
const asOf = start + 240 * hour;

const between = (i: number, from: number, to: number): boolean => i >= from && i < to;

describe('supplies', () => {
  const series = (
    n: number,
    every: number,
    value: (i: number) => number,
  ): { timesMs: Float64Array; values: Float64Array } => ({
    timesMs: Float64Array.from({ length: n }, (_, i) => start + i * every),
    values: Float64Array.from({ length: n }, (_, i) => value(i)),
  });
  const task = { sensor: 'volts', of: 'left bank', unit: 'V', limit: 11.8 };

  test('a battery that goes down is told with the day on which it is cut off; one that stands is not', () => {
    const { normal } = source(4);
    for (let i = 0; i < 30; i++) normal();
    const sinking = series(
      28 * 24,
      hour,
      (i) => 12.9 - (0.02 * i) / 24 + 0.3 * Math.max(0, Math.sin((i / 24) * 2 * Math.PI)) + 0.01 * normal(),
    );
    const at = start + 28 * dayMs;
    const found = supplyOf({ ...task, kind: 'battery', readings: sinking, asOfMs: at });
    expect(found.perDay!).toBeCloseTo(-0.02, 3);
    // 12.9 less 0.56 in four weeks leaves 0.54 above the limit: 27 days.
    const days = (Date.parse(found.reached!.by!) - at) / dayMs;
    expect(days).toBeGreaterThan(24);
    expect(days).toBeLessThan(30);
    expect(Date.parse(found.reached!.earliest)).toBeLessThanOrEqual(Date.parse(found.reached!.by!));
    const still = series(28 * 24, hour, () => 12.9 + 0.05 * normal());
    expect(supplyOf({ ...task, kind: 'battery', readings: still, asOfMs: at }).reached).toBeUndefined();
    const low = series(5, dayMs, () => 11.5);
    expect(supplyOf({ ...task, kind: 'battery', readings: low, asOfMs: at })).toMatchObject({ passed: true });
    // An old reading: from its time on. 13 V less 1.9 V on the 20th; 0.6 V more are left.
    const old = series(20, dayMs, (i) => 14.3 - 0.1 * i);
    expect(
      supplyOf({ ...task, kind: 'battery', readings: old, asOfMs: start + 25 * dayMs }).reached!.by,
    ).toBe('2026-03-26T00:00:00Z');
  });

  test('a data plan: used, expected, and the day on which it is used up', () => {
    const used = series(20, dayMs, (i) => 20 * i);
    const at = start + 19 * dayMs;
    const plan = (limit: number, resets = 1): ReturnType<typeof supplyOf> =>
      supplyOf({ ...task, kind: 'data', unit: 'MB', limit, resets, readings: used, asOfMs: at });
    expect(plan(1000).plan).toEqual({
      from: '2026-03-01T00:00:00Z',
      to: '2026-04-01T00:00:00Z',
      used: 380,
      expected: 620,
    });
    expect(plan(300)).toMatchObject({ passed: true });
    // Of this month there is no reading.
    const past = supplyOf({
      ...task,
      kind: 'data',
      unit: 'MB',
      limit: 500,
      resets: 1,
      readings: used,
      asOfMs: start + 40 * dayMs,
    });
    expect(past.plan).toEqual({ from: '2026-04-01T00:00:00Z', to: '2026-05-01T00:00:00Z' });
    expect(plan(1000).reached).toBeUndefined();
    expect(plan(500).reached).toEqual({ earliest: '2026-03-26T00:00:00Z', by: '2026-03-26T00:00:00Z' });
    expect(plan(1000, 25).plan).toMatchObject({ from: '2026-02-25T00:00:00Z', to: '2026-03-25T00:00:00Z' });
    // A counter that has begun anew is not set against that of the last month.
    const anew = series(20, dayMs, (i) => (i < 10 ? 300 + 20 * i : 10 * (i - 10)));
    const found = supplyOf({
      ...task,
      kind: 'data',
      unit: 'MB',
      limit: 500,
      resets: 11,
      readings: anew,
      asOfMs: at,
    });
    expect(found.plan!.expected).toBeCloseTo(90 + 10 * 22, 9);
  });

  test('without readings nothing is told', () =>
    expect(supplyOf({ ...task, kind: 'storage', readings: series(0, 1, () => 0), asOfMs: asOf })).toEqual({
      ...task,
      kind: 'storage',
    }));
});

describe('mistakes of time by name', () => {
  const view = (timesMs: Float64Array, station = 'S1', stream = 'main'): Arrivals => ({
    station,
    stream,
    timesMs,
    spacingMs: hour,
  });
  test('dates that are 1024 weeks early', () => {
    const times = hours(241);
    const early = Float64Array.from(times.slice(50, 60).map((t) => t - 1024 * 7 * dayMs));
    const faults = timeFaultsOf([view(Float64Array.from([...early, ...times]))], asOf);
    expect(faults).toMatchObject([
      { kind: 'weeks', stations: ['S1'], epochs: 10, offsetSeconds: -1024 * 7 * 86_400 },
    ]);
    // Other gaps of years are none.
    expect(
      timeFaultsOf([view(Float64Array.from([...times.map((t) => t - 900 * 7 * dayMs), ...times]))], asOf),
    ).toEqual([]);
  });

  test.each([18, -18, 14, -14, 4, -4])('days that stand %i s beside the others', (off) => {
    const shifted = (s: string): Arrivals =>
      view(
        hours(241).map((t, i) => (between(i, 48, 120) ? t + off * 1000 : t)),
        s,
      );
    expect(timeFaultsOf([shifted('S1'), shifted('S2'), view(hours(241), 'S3')], asOf)).toEqual(
      [
        {
          kind: 'scale',
          stream: 'main',
          stations: ['S1', 'S2'],
          from: new Date(start + 48 * hour + off * 1000).toISOString().replace('.000', ''),
          to: new Date(start + 119 * hour + off * 1000).toISOString().replace('.000', ''),
          epochs: off < 0 ? 142 : 144,
          offsetSeconds: off,
        },
      ].map((f) =>
        off < 0 ? expect.objectContaining({ kind: 'scale', offsetSeconds: off, stations: ['S1', 'S2'] }) : f,
      ),
    );
  });

  test("other seconds of the minute are nobody's mistake", () => {
    expect(timeFaultsOf([view(hours(241).map((t, i) => t + (i > 100 ? 30_000 : 0)))], asOf)).toEqual([]);
    expect(timeFaultsOf([view(hours(241).map((t) => t + 18_000))], asOf)).toEqual([]);
    // Two streams on two time scales, each by itself.
    const other = view(
      hours(241).map((t) => t - 18_000),
      'S1',
      'other',
    );
    expect(timeFaultsOf([view(hours(241)), other], asOf)).toEqual([]);
  });
});

const spans: Spans = {
  recent: [start + 28 * dayMs, start + 35 * dayMs],
  before: [start, start + 28 * dayMs],
};
const row = (station: string, i: number, more: Partial<TrackingRow>): TrackingRow => ({
  source: 'receivers',
  station,
  manner: 'mask 10',
  firstMs: start + i * hour,
  lastMs: start + i * hour + 59 * 60_000,
  signal: '',
  intervalMs: 60_000,
  epochs: 60,
  satellites: 'G01 G02',
  tracked: 120,
  above: 110,
  expected: 130,
  slips: 0,
  cn0: Number.NaN,
  multipath: Number.NaN,
  pdop: 1.8,
  positions: 60,
  fixed: 57,
  ...more,
});

describe('receivers', () => {
  const n = 35 * 24;
  const rows = (
    station: string,
    cn0: (i: number) => number,
    multipath: (i: number) => number,
  ): TrackingRow[] =>
    Array.from({ length: n }, (_, i) => [
      row(station, i, {}),
      row(station, i, { signal: 'G', satellites: i % 2 ? 'G01' : 'G02' }),
      row(station, i, { signal: 'G1C', cn0: cn0(i), multipath: multipath(i) }),
    ]).flat();

  test('figures of the last week, and satellites that others tracked', () => {
    const own = rows(
      'S1',
      () => 44,
      () => 0.3,
    );
    const other = Array.from({ length: n }, (_, i) =>
      row('S2', i, { signal: 'G', satellites: 'G01 G02 G03' }),
    );
    const known = satellitesOf(
      [...own, ...other, row('S2', 700, { signal: 'G', satellites: 'G31' })],
      spans.recent,
    );
    expect([...known.get('G')!].sort()).toEqual(['G01', 'G02', 'G03']);
    const found = receiverFigures(own, spans, known)!;
    expect(found.recent).toMatchObject({
      hours: 168,
      satellites: 2,
      completeness: 1,
      fixRate: 0.95,
      slips: 0,
    });
    expect(found.recent.trackedShare).toBeCloseTo(110 / 130, 12);
    expect(found.constellations).toEqual([
      {
        system: 'GPS',
        seen: ['G01', 'G02'],
        missing: ['G03'],
        trackedShare: 110 / 130,
        signals: [
          { signal: '1C', satellites: 2, cn0: 44, cn0Before: 44, multipath_m: 0.3, multipathBefore_m: 0.3 },
        ],
      },
    ]);
  });

  const noisy = (seed: number, of: (i: number) => number, scatter: number): ((i: number) => number) => {
    const { normal } = source(seed);
    for (let k = 0; k < 30; k++) normal();
    return (i) => of(i) + scatter * normal();
  };
  const calm = { up: new Map(), supplies: [], outages: [], asOfMs: start + 35 * dayMs, spans };
  const late = (i: number): boolean => i >= 33 * 24;

  test('nothing is suspected where nothing changed (twenty networks)', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const own = rows(
        'S1',
        noisy(seed, (i) => 44 + Math.sin(i / 24), 1),
        noisy(seed + 100, () => 0.3, 0.03),
      );
      expect(suspicionsOf({ ...calm, rows: own })).toEqual([]);
    }
  });

  test('weak signals in frost, with an antenna that seems lower: something lies on it', () => {
    const weak = (seed: number): ((i: number) => number) => noisy(seed, (i) => (late(i) ? 39 : 44), 1);
    const timesMs = Float64Array.from({ length: 140 }, (_, k) => start + 6 * k * hour);
    const up = noisy(3, (k) => (k * 6 >= 33 * 24 ? -14 : 0), 2);
    const found = suspicionsOf({
      ...calm,
      rows: [...rows('S1', weak(1), () => 0.3), ...rows('S2', weak(2), () => 0.3)],
      up: new Map([['S1', { timesMs, up_mm: Float64Array.from(timesMs, (_, k) => up(k)) }]]),
      temperature: {
        sensor: 'air',
        unit: '°C',
        readings: {
          timesMs: Float64Array.from([start, start + 34 * dayMs]),
          values: Float64Array.from([9, -4]),
        },
      },
    });
    expect(found.map((s) => `${s.kind} ${s.of} ${s.since}`)).toEqual([
      'obscured S1 2026-04-03T00:00:00Z',
      'obscured S2 2026-04-03T00:00:00Z',
    ]);
    expect(found[0]!.evidence.map((e) => e.kind)).toEqual(['strength', 'freezing', 'up', 'together']);
    expect(found[0]!.evidence[0]).toMatchObject({ drop_dB: expect.closeTo(5, 0) });
    expect(found[0]!.evidence[3]).toEqual({ kind: 'together', stations: ['S2'] });
  });

  test('what has been weak for two weeks is told from when it began', () => {
    const found = suspicionsOf({
      ...calm,
      rows: rows(
        'S1',
        noisy(1, (i) => (i >= 20 * 24 ? 39 : 44), 1),
        () => 0.3,
      ),
    });
    expect(found.map((f) => `${f.kind} ${f.of} ${f.since}`)).toEqual(['signal S1 2026-03-21T00:00:00Z']);
  });

  test('weak signals alone may be a cable; multipath that lasts is a change near the antenna', () => {
    const found = suspicionsOf({
      ...calm,
      rows: [
        ...rows(
          'S1',
          noisy(1, (i) => (late(i) ? 39 : 44), 1),
          () => 0.3,
        ),
        ...rows(
          'S2',
          () => 44,
          noisy(7, (i) => (i >= 31 * 24 ? 0.5 : 0.3), 0.03),
        ),
      ],
    });
    expect(found.map((s) => `${s.kind} ${s.of}`)).toEqual(['signal S1', 'multipath S2']);
    expect(found[1]).toMatchObject({
      since: '2026-04-01T00:00:00Z',
      evidence: [{ signal: 'G1C', now_m: expect.closeTo(0.5, 1) }],
    });
  });

  test('power: a battery near its end, and outages night after night', () => {
    const nights = [30, 31, 33].map((d) => ({
      from: new Date(start + d * dayMs + 22 * hour).toISOString(),
      to: new Date(start + d * dayMs + 30 * hour).toISOString(),
      stations: ['S1'],
      cause: { kind: 'shared', name: 'left bank' } as const,
    }));
    const supply = {
      sensor: 'volts', of: 'left bank', kind: 'battery', unit: 'V', limit: 11.8,
      newest: { at: '2026-04-04T00:00:00Z', value: 12 }, reached: { earliest: '2026-04-10T00:00:00Z' },
    } as const; // prettier-ignore
    const found = suspicionsOf({ ...calm, rows: [], outages: nights.toReversed(), supplies: [supply] });
    expect(found).toMatchObject([
      {
        kind: 'power',
        of: 'left bank',
        evidence: [
          { kind: 'supply', sensor: 'volts' },
          { kind: 'nights', outages: 3, from: '22:00', to: '22:00' },
        ],
      },
    ]);
    const processing = nights.map((o) => ({
      ...o,
      cause: { kind: 'everything', name: 'all stations' } as const,
    }));
    expect(suspicionsOf({ ...calm, rows: [], outages: processing, supplies: [] })).toEqual([]);
  });
});

test('an hour that was delivered twice counts once: with orbits, then with more epochs; parts of an hour add up', () => {
  const whole = row('S1', 0, {});
  const without = row('S1', 0, { expected: Number.NaN, above: Number.NaN });
  const part = row('S1', 0, { lastMs: start + 29 * 60_000, epochs: 30 });
  const second = row('S1', 0, { firstMs: start + 30 * 60_000, epochs: 30 });
  expect(chosenHours([without, whole])).toEqual([whole]);
  expect(chosenHours([part, whole, second])).toEqual([whole]);
  expect(chosenHours([part, second])).toEqual([part, second]);
  // Quarters that share the epoch between them, and a reading that knew more orbits.
  const first = row('S1', 0, { lastMs: start + 15 * 60_000, epochs: 16 });
  const next = row('S1', 0, { firstMs: start + 15 * 60_000, lastMs: start + 30 * 60_000, epochs: 16 });
  expect(chosenHours([first, next])).toEqual([first, next]);
  const more = row('S1', 0, { expected: 200 });
  expect(chosenHours([whole, more])).toEqual([more]);
});
