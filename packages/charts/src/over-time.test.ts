import { describe, expect, test } from 'vitest';
import { baseLines, settling, spectrum, type SettlingTask, type SpectrumTask } from './index.ts';

const band = (longest: number, density: number) => ({
  longest,
  shortest: longest / 1.4,
  density,
  low: density / 2,
  high: 2 * density,
  expected: 1,
});
const paths = (svg: string, name: string): string[] =>
  [...svg.matchAll(new RegExp(`<path class="${name}" d="([^"]*)"`, 'g'))].map((m) => m[1]!);

describe('spectrum', () => {
  const task: SpectrumTask = {
    id: 's',
    width: 880,
    title: 'Power',
    description: 'of what is left',
    panels: ['east', 'north', 'up'].map((name) => ({
      name,
      bands: [band(400, 100), band(40, 10), band(4, 1)],
    })),
    confidence: '95 %',
  };
  test('powers of ten are as far apart in every panel, long periods on the left, the noise a line', () => {
    const svg = spectrum(task);
    const marks = paths(svg, 'windows').filter((d) => d.split('M').length === 4);
    expect(marks).toHaveLength(3);
    const points = [...marks[0]!.matchAll(/M([\d.]+) ([\d.]+)h0/g)].map(
      (m) => [Number(m[1]), Number(m[2])] as const,
    );
    expect(points[0]![0]).toBeLessThan(points[1]![0]);
    expect(points[1]![1] - points[0]![1]).toBeCloseTo(points[2]![1] - points[1]![1], 0);
    const line = paths(svg, 'expected').find((d) => d.includes('L'))!;
    expect(new Set([...line.matchAll(/ ([\d.]+)/g)].map((m) => m[1])).size).toBe(1);
    expect(svg).toContain('1 year');
  });
  test('on a phone the panels stand under each other', () => {
    const tall = Number(/height="(\d+)"/.exec(spectrum({ ...task, width: 360 }))![1]);
    expect(tall).toBeGreaterThan(2.5 * 200);
  });
});

describe('settling of running means', () => {
  const task = (marked: boolean): SettlingTask => ({
    id: 'r',
    width: 880,
    title: 'Running means',
    description: 'against the days left',
    restDays: 3,
    panels: [
      {
        name: 'up, mm',
        limit_mm: 2,
        lines: [
          { name: 'T1', day: [1, 7, 14], value_mm: [1.5, -0.5, 0], marked: false },
          { name: 'T2', day: [1, 7, 14], value_mm: [9, 5, 0], marked },
        ],
      },
    ],
  });
  test('lines end at zero on the right; one that is not at rest is named', () => {
    const svg = settling(task(true));
    expect(paths(svg, 'running')).toHaveLength(1);
    expect(paths(svg, 'running marked')).toHaveLength(1);
    const ends = [...paths(svg, 'running'), ...paths(svg, 'running marked')].map((d) => d.split('L').at(-1));
    expect(ends[0]).toBe(ends[1]);
    expect(svg).toContain('>T2<');
    expect(settling(task(false))).not.toContain('>T2<');
  });
});

describe('bases among each other', () => {
  const day = 86_400_000;
  const zone = { zone: 'UTC', offsetMs: () => 0, offsetName: () => 'UTC' };
  const flat = [0, 0, 0, 0, 0, 0];
  const task = {
    id: 'b',
    width: 880,
    title: 'Bases',
    description: 'day by day',
    zone,
    timesMs: [0, 1, 2, 3, 9, 10].map((d) => d * day),
    bases: [
      {
        name: 'B1',
        east_mm: [0, 1, 2, 3, 4, 5],
        north_mm: flat,
        up_mm: flat,
        accused: [false, true, true, false, false, true],
      },
      { name: 'B2', east_mm: flat, north_mm: flat, up_mm: flat, accused: flat.map(() => false) },
    ],
  };
  test('lines break where days are missing, runs of named days are shaded, and the scale is that of the largest', () => {
    const svg = baseLines(task);
    const [east] = paths(svg, 'line east');
    expect(east!.match(/M/g)).toHaveLength(2);
    // Two runs in the figure, one sign in the key.
    expect(svg.match(/class="accused"/g)).toHaveLength(3);
    const ys = [...east!.matchAll(/ ([\d.]+)/g)].map((m) => Number(m[1]));
    expect(ys[0]! - ys[5]!).toBeCloseTo(55, 0);
  });
});
