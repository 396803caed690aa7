import { source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type TrackingRow } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  arrivalsOf,
  chosenHours,
  outagesOf,
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

/** Stations in two streams, the bases seen from each other; hours are missing by what is planted. */
function network(missing: (station: string, stream: string, i: number) => boolean, n = 241): Arrivals[] {
  return ['B1', 'B2'].flatMap((base) =>
    ['B1', 'B2', 'S1', 'S2', 'S3', 'S4'].flatMap((station): Arrivals[] =>
      station === base
        ? []
        : [
            {
              station,
              stream: `from-${base}`,
              base,
              spacingMs: hour,
              timesMs: hours(n, (i) => missing(station, `from-${base}`, i)),
            },
          ],
    ),
  );
}
const shared = [
  { name: 'left bank', stations: ['S1', 'S2'] },
  { name: 'right bank', stations: ['S3', 'B2'] },
];
const between = (i: number, from: number, to: number): boolean => i >= from && i < to;
const told = (views: readonly Arrivals[], things = shared): string[] =>
  outagesOf(views, things, asOf, 2 * hour, 0).map(
    ({ cause, stations, from, to }) =>
      `${cause.kind} ${cause.name}: ${stations.join(' ')} ${(Date.parse(from) - start) / hour} to ${to === undefined ? 'now' : (Date.parse(to) - start) / hour}`,
  );

describe('outages are told by what they have in common (planted)', () => {
  test.each([
    ['nothing', () => false, []],
    [
      'one station',
      (s: string, _: string, i: number) => s === 'S4' && between(i, 50, 60),
      ['station S4: S4 49 to 60'],
    ],
    [
      'a router of two stations',
      (s: string, _: string, i: number) => ['S1', 'S2'].includes(s) && between(i, 50, 60),
      ['shared left bank: S1 S2 49 to 60'],
    ],
    [
      'a router of a station and a base, and with it everything that is told from that base',
      (s: string, stream: string, i: number) =>
        (['S3', 'B2'].includes(s) || stream === 'from-B2') && between(i, 50, 60),
      ['shared right bank: B1 B2 S1 S2 S3 S4 49 to 60'],
    ],
    [
      'a base',
      (s: string, stream: string, i: number) => (s === 'B1' || stream === 'from-B1') && i >= 100,
      ['base B1: B1 B2 S1 S2 S3 S4 99 to now'],
    ],
    [
      'one processing',
      (_: string, stream: string, i: number) => stream === 'from-B1' && between(i, 50, 60),
      ['stream from-B1: B2 S1 S2 S3 S4 49 to 60'],
    ],
    [
      'everything',
      (_: string, __: string, i: number) => between(i, 50, 60),
      ['everything all stations: B1 B2 S1 S2 S3 S4 49 to 60'],
    ],
    [
      'one vector',
      (s: string, stream: string, i: number) => s === 'S3' && stream === 'from-B1' && between(i, 50, 60),
      ['vector S3 in from-B1: S3 49 to 60'],
    ],
    [
      'two stations that share nothing, at one time',
      (s: string, _: string, i: number) => ['S1', 'S4'].includes(s) && between(i, 50, s === 'S1' ? 60 : 70),
      ['station S1: S1 49 to 60', 'station S4: S4 49 to 70'],
    ],
    [
      'a router while one of its stations has long been out',
      (s: string, _: string, i: number) => (s === 'S1' && i >= 20) || (s === 'S2' && between(i, 50, 60)),
      ['station S2: S2 49 to 60', 'station S1: S1 19 to now'],
    ],
    [
      'gaps that are no outages',
      (s: string, _: string, i: number) => s === 'S4' && i % 5 === 0 && i > 0 && i < 240,
      [],
    ],
  ])('%s', (_, missing, expected) => expect(told(network(missing))).toEqual(expected));

  const daily = (station: string, missing: (i: number) => boolean = () => false): Arrivals => ({
    station,
    stream: 'daily',
    spacingMs: 24 * hour,
    timesMs: Float64Array.from(
      Array.from({ length: 11 }, (_, i) => i).filter((i) => !missing(i)),
      (i) => start + i * 24 * hour,
    ),
  });
  const hourly = (station: string, from: number, to: number): Arrivals => ({
    station,
    stream: 'hourly',
    spacingMs: hour,
    timesMs: hours(241, (i) => between(i, from, to)),
  });

  test('a slow stream beside fast ones neither fuses what lies hours apart nor hides what it cannot show', () => {
    const views = [
      hourly('S1', 49, 54),
      hourly('S2', 66, 71),
      hourly('S3', 300, 301),
      daily('S1'),
      daily('S2'),
      daily('S3'),
    ];
    expect(told(views)).toEqual(['station S2: S2 65 to 71', 'station S1: S1 48 to 54']);
    // What is out for days is out in both.
    const gone = [
      hourly('S1', 49, 168),
      hourly('S2', 300, 301),
      daily('S1', (i) => i > 2 && i < 7),
      daily('S2'),
    ];
    expect(told(gone)).toEqual(['station S1: S1 48 to 168']);
  });

  test('of a base of which one rover alone was running nobody says that it is the base', () => {
    const missing = (s: string, stream: string, i: number): boolean =>
      stream === 'from-B1' && (s === 'S4' ? between(i, 50, 60) : i >= 5);
    expect(told(network(missing)).filter((t) => t.includes('49 to 60'))).toEqual([
      'vector S4 in from-B1: S4 49 to 60',
    ]);
  });

  test('an outage that began before the month counts in it, with its part', () => {
    const gone = { ...hourly('S1', 10, 241), timesMs: hours(11) };
    const late = start + 90 * dayMs;
    expect(arrivalsOf(gone, late, 30 * dayMs, 2 * hour)).toMatchObject({
      outages: 1,
      outageMs: 30 * dayMs,
      completeness: 0,
    });
  });

  test('positions that come once a day are all there between two of them; a day without an expected one is no empty day', () => {
    const found = arrivalsOf(daily('S1'), asOf + 11 * hour, 30 * dayMs, 2 * hour);
    expect(found).toMatchObject({ completeness: 1, outages: 0, behindMs: 0 });
    const weekly = { ...daily('S1', (i) => i % 7 !== 0), spacingMs: 7 * dayMs };
    const { days } = arrivalsOf(weekly, asOf, 30 * dayMs, 2 * hour);
    expect(days.filter((d) => d === 0)).toEqual([]);
    expect(days.filter((d) => d === 1)).toHaveLength(2);
  });

  test('a station that began late is not missed before', () => {
    const views = network(() => false).map((v) =>
      v.station === 'S4' ? { ...v, timesMs: v.timesMs.slice(100) } : v,
    );
    expect(told(views)).toEqual([]);
    const of = views.find((v) => v.station === 'S4');
    expect(arrivalsOf(of!, asOf, 30 * dayMs, 2 * hour)).toMatchObject({
      completeness: 1,
      outages: 0,
      behindMs: 0,
    });
  });
});

test('how positions arrive: share, age, days', () => {
  const [view] = network((s, _, i) => s === 'B2' && (between(i, 100, 124) || i > 236));
  const found = arrivalsOf(view!, asOf, 30 * dayMs, 2 * hour);
  expect(found).toMatchObject({ outages: 2, outageMs: 25 * hour + 4 * hour, behindMs: 3 * hour });
  expect(found.completeness).toBeCloseTo((241 - 24 - 4) / 241, 12);
  expect(found.days).toHaveLength(60);
  expect(found.days.slice(-11).map((d) => d && Number(d.toFixed(2)))).toEqual([
    1, 1, 1, 1, 0.17, 0.83, 1, 1, 1, 0.88, 0,
  ]);
});

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
