import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { dayMs } from '@stillmark/records';
import { mostOf } from '@stillmark/tooling/chance';
import { describe, expect, test } from 'vitest';
import { accelerationOf } from './acceleration.ts';
import { ReferenceContrast } from './contrast.ts';
import { referenceNoise } from './noise.ts';
import type { WindowSeries } from './windows.ts';

const perDay = 4;
const days = 88;
const n = days * perDay;
const reference = { from: 0, to: 28 * perDay };
const range = { from: 28 * perDay, to: n };

/** Millimetres of a movement of which the inverse velocity falls on a line to zero `left` days after the end; v0 mm a day at day 28. */
const voight =
  (v0: number, left: number) =>
  (day: number): number =>
    day < 28 ? 0 : -v0 * (60 + left) * Math.log1p(-(day - 28) / (60 + left));
const steady =
  (v: number) =>
  (day: number): number =>
    day < 28 ? 0 : v * (day - 28);

function task(move: (day: number) => number, random = source(1), size = 1) {
  const axis = (factor: number): Float64Array => {
    const noise = whitePlusFlicker(n, 0.0014 * size * factor, 0.0003 * size * factor, random);
    const mean = noise.subarray(0, reference.to).reduce((s, v) => s + v, 0) / reference.to;
    return noise.map((v) => v - mean);
  };
  const formal = new Float64Array(n);
  const east = axis(1).map((v, i) => v + move(i / perDay) / 1000);
  const windows: WindowSeries = {
    windowMs: dayMs / perDay,
    slot: Float64Array.from({ length: n }, (_, i) => i),
    epochs: new Int32Array(n).fill(6),
    east,
    north: axis(1),
    up: axis(2),
    formal: { east: formal, north: formal, up: formal },
  };
  const contrast = new ReferenceContrast(windows, reference);
  return {
    windows,
    contrast,
    noise: referenceNoise(windows, contrast),
    range,
    along: Math.PI / 2,
    confidence: 0.95,
  };
}

describe('a movement whose inverse velocity falls to zero', () => {
  // Closed form, alpha = 2: v = 1 / (A (tf - t)), a straight line of 1/v that meets zero at tf (Fukuzono 1985; Voight 1988).
  test('with next to no noise the time left and the velocities are those of the closed form', () => {
    const found = accelerationOf(task(voight(0.1, 30), source(2), 0.01))!;
    // Steps of the search are 3 %.
    expect(Math.abs(found.days - 30)).toBeLessThan(1);
    expect(found.first_mm).toBeCloseTo(0.1 * 30, 1);
    expect(Math.abs(found.last_mm / (((0.1 * 90) / 30) * 30) - 1)).toBeLessThan(0.04);
    expect(found.azimuthDeg).toBeCloseTo(90, 9);
    expect(found.earliestDays).toBeLessThanOrEqual(found.days);
    expect(found.latestDays).toBeGreaterThanOrEqual(found.days);
  });

  test('is found under noise, and its interval holds the truth', () => {
    const random = source(3);
    const runs = 60;
    let [seen, held] = [0, 0];
    for (let k = 0; k < runs; k++) {
      const found = accelerationOf(task(voight(0.15, 20), random));
      if (!found) continue;
      seen++;
      if (found.earliestDays <= 20 && (found.latestDays ?? Infinity) >= 20) held++;
    }
    expect(seen).toBeGreaterThan(0.9 * runs);
    expect(seen - held).toBeLessThanOrEqual(mostOf(seen, 0.05));
  });
});

describe('nothing is said', () => {
  test.each([
    ['of a steady movement', steady(0.2)],
    ['of a fast steady movement', steady(1)],
    ['of no movement', steady(0)],
    ['of one that comes to rest', (day: number) => (day < 28 ? 0 : 15 * (1 - Math.exp(-(day - 28) / 15)))],
  ])('%s, but in one of two hundred cases', (_, move) => {
    const random = source(4);
    const runs = 80;
    const found = Array.from({ length: runs }, () => accelerationOf(task(move, random))).filter(Boolean);
    expect(found.length).toBeLessThanOrEqual(mostOf(runs, 0.005));
  });
});
