import { expect, test } from 'vitest';
import { skyDay, skyPlot } from './index.ts';

const zone = { zone: 'UTC', offsetMs: () => 0, offsetName: () => 'UTC' };

test('the sky: the zenith in the middle, north up, east to the right', () => {
  const svg = skyPlot({ id: 's', width: 300, title: 'Sky', description: 'of S1', tracks: [[0, 90, 90, 0], [180, 45, 180, 0]], horizon: [], maskDeg: 10 }); // prettier-ignore
  const d = /class="tracks" d="([^"]*)"/.exec(svg)![1]!;
  // Radius 128 about (150, 150).
  expect(d).toBe('M150 150L278 150M150 214L150 278');
  expect(svg).not.toContain('style=');
  expect(svg).not.toContain('NaN');
});

test('a day: steps where there is a dilution, gaps where there is none', () => {
  const svg = skyDay({
    id: 'd',
    width: 400,
    title: 'Day',
    description: 'of S1',
    fromMs: 0,
    stepMs: 3_600_000,
    satellites: [8, 3, 9, 10],
    pdop: [2, null, 1.5, 30],
    limits: { satellites: 6, pdop: 4 },
    zone,
  });
  const [satellites, pdop] = [...svg.matchAll(/class="model" d="([^"]*)"/g)].map(([, d]) => d!);
  expect(satellites!.match(/M/g)).toHaveLength(1);
  // Ten are higher than nine; a dilution of 30 is drawn at the edge of its axis.
  const heights = (d: string): number[] => [...d.matchAll(/ ([\d.]+)/g)].map(([, y]) => Number(y));
  expect(heights(satellites!)[3]).toBeLessThan(heights(satellites!)[2]!);
  expect(heights(pdop!)[2]).toBe(148);
  expect(pdop!.match(/M/g)).toHaveLength(2);
  expect(svg).not.toContain('NaN');
});
