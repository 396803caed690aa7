import { dayMs } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { arrivalsOf, outagesOf, type Arrivals } from '../index.ts';

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
