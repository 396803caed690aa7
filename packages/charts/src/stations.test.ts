import type { StationSeries } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { logScatter, networkMap, profile, smallTimeline, type MapStation, type Zone } from './index.ts';

const utc: Zone = { zone: 'UTC', offsetMs: () => 0, offsetName: () => 'UTC' };
const day = 86_400_000;
const numbersOf = (path: string): number[] => [...path.matchAll(/-?\d+(?:\.\d+)?/g)].map(([n]) => Number(n));

describe('small timelines', () => {
  const timesMs = Float64Array.from({ length: 200 }, (_, i) => i * day);
  const windows: StationSeries['windows'] = {
    timesMs,
    east_mm: timesMs.map(() => 5),
    north_mm: timesMs.map((_, i) => (i < 100 ? 0 : 25)),
    up_mm: timesMs.map(() => -10),
    eastHalf_mm: timesMs.map(() => 2),
    northHalf_mm: timesMs.map(() => 2),
    upHalf_mm: timesMs.map(() => Number.NaN),
  };
  const svg = smallTimeline({
    id: 'x',
    width: 880,
    title: 'a',
    description: 'b',
    axes: [{ axis: 'east', name: 'east' }, { axis: 'north', name: 'north' }, { axis: 'up', name: 'up' }],
    windows,
    span: { fromMs: 0, toMs: 200 * day },
    limit_mm: 20,
    zone: utc,
  }); // prettier-ignore
  const panels = svg.split('<g class="panel">').slice(1);

  test('stand side by side at one scale: half of the limit up is a quarter of the height above the middle', () => {
    const grounds = [
      ...svg.matchAll(/class="ground" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"/g),
    ];
    expect(grounds).toHaveLength(3);
    const [, , top, , height] = grounds[0]!.map(Number) as [number, number, number, number, number];
    const y = (panel: string): number =>
      numbersOf(/class="windows columns" d="([^"]*)"/.exec(panel)![1]!)[1]!;
    expect(y(panels[0]!)).toBeCloseTo(top + height / 2 - (5 / 40) * height, 0);
    expect(y(panels[2]!)).toBeCloseTo(top + height / 2 + (10 / 40) * height, 0);
  });

  test('count what lies beyond the scale, and draw no band where no interval is known', () => {
    expect(panels[1]).toContain('north, 100 beyond');
    expect(/class="band-columns" d="([^"]*)"/.exec(panels[0]!)![1]!.length).toBeGreaterThan(100);
    expect(/class="band-columns" d="([^"]*)"/.exec(panels[2]!)![1]).toBe('');
  });
});

describe('a profile along the structure', () => {
  const line = (text: string, values: number[]): { text: string; points: { at_m: number; value_mm: number; half_mm: number }[] } =>
    ({ text, points: values.map((value_mm, i) => ({ at_m: 100 * i, value_mm, half_mm: 3 })) }); // prettier-ignore
  const svg = profile({
    id: 'p',
    width: 880,
    title: 'a',
    description: 'b',
    stations: [{ id: 'S1', at_m: 0 }, { id: 'S2', at_m: 100 }, { id: 'S3', at_m: 200 }],
    panels: [{ name: 'up', lines: [line('then', [0, 0, 0]), line('now', [0, 12, 0])] }],
  }); // prettier-ignore
  const newest = [...svg.matchAll(/<circle class="profile newest" cx="([\d.]+)" cy="([\d.]+)"/g)].map(
    ([, x, y]) => [Number(x), Number(y)] as const,
  );

  test('has places and movements at their scales, the interval of the newest date alone', () => {
    const [[x1, y1], [x2, y2], [x3]] = newest as [[number, number], [number, number], [number, number]];
    expect(x2 - x1).toBeCloseTo(x3 - x2, 1);
    // The interval reaches three of twelve millimetres beyond the mark on each side.
    const bars = numbersOf(/class="profile-interval" d="([^"]*)"/.exec(svg)![1]!);
    const [, low, high] = bars.slice(3, 6) as [number, number, number];
    expect((low - high) / (y1 - y2)).toBeCloseTo(6 / 12, 1);
    expect(svg.match(/class="profile-interval"/g)).toHaveLength(1);
    expect(svg).toContain('>then<');
  });
});

test('movement against a log: the line goes through the middle with the fitted slope', () => {
  const values = Float64Array.from({ length: 50 }, (_, i) => i / 5);
  const svg = logScatter({
    id: 'l',
    width: 400,
    title: 'a',
    description: 'b',
    across: 'air temperature, °C',
    up: 'mm up',
    values,
    movements_mm: values.map((v) => 3 - 2 * v),
    slope_mm: -2,
  });
  // The first is told by its place, the others by their differences.
  let [x, y] = [0, 0];
  const marks = [
    ...svg.match(/class="scatter" d="([^"]*)"/)![1]!.matchAll(/m(-?[\d.]+)[ ,]?(-?[\d.]+)h0/gi),
  ].flatMap(([whole, a, b]) => {
    [x, y] = whole.startsWith('M') ? [Number(a), Number(b)] : [x + Number(a), y + Number(b)];
    return [x, y];
  });
  expect(marks.length).toBe(100);
  const [x0, y0, x1, y1] = numbersOf(/class="fitted" d="([^"]*)"/.exec(svg)![1]!) as [
    number,
    number,
    number,
    number,
  ];
  const slope = (y1 - y0) / (x1 - x0);
  for (let i = 0; i < marks.length; i += 2)
    expect(Math.abs(marks[i + 1]! - (y0 + slope * (marks[i]! - x0)))).toBeLessThan(1.5);
});

describe('a plan without movements', () => {
  const station = (id: string, role: 'base' | 'monitoring', east_m: number, north_m: number): MapStation =>
    ({ id, role, east_m, north_m, words: id, state: 'still' }); // prettier-ignore
  const svg = networkMap({
    id: 'm',
    width: 880,
    height: 600,
    title: 'a',
    description: 'b',
    confidence: '95 %',
    stations: [station('B1', 'base', 0, 0), station('S1', 'monitoring', 300, 100)],
    lines: { words: 'baseline', between: [['B1', 'S1'], ['B1', 'gone']] },
    outline: [
      { kind: 'zone', closed: true, points_m: [100, 0, 400, 0, 400, 200] },
      { kind: 'zone', closed: true, hole: true, points_m: [200, 50, 250, 50, 250, 80] },
    ],
  }); // prettier-ignore

  test('has no scale of movements, and lines between the stations that are there', () => {
    expect(svg).not.toContain('moved-scale');
    const [x0, y0, x1, y1] = numbersOf(/class="baseline" d="([^"]*)"/.exec(svg)![1]!) as [
      number,
      number,
      number,
      number,
    ];
    expect((x1 - x0) / (y0 - y1)).toBeCloseTo(3, 1);
    expect(svg).toContain('>baseline<');
    expect(svg).toContain('zone of influence');
  });

  test('a hole is cut out of its area', () =>
    expect(svg).toMatch(/class="zone area" d="M[^Z]*ZM[^Z]*Z" fill-rule="evenodd"/));
});
