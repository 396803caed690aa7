import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { describe, expect, test } from 'vitest';
import { knownStep } from './known-step.ts';
import type { WindowSeries } from './windows.ts';

const hour = 3_600_000;
const day = 24 * hour;
const windowMs = 6 * hour;
const atMs = 20 * day;
const random = source(411);
for (let i = 0; i < 10; i++) random.uniform();

/** Forty days of means of six hours, a step of (5, -3, 10) mm in their midst. */
function series(flicker: number): WindowSeries {
  const n = 160;
  const axis = (white: number, step: number): Float64Array => {
    const noise = whitePlusFlicker(n, white, white * flicker, random);
    return Float64Array.from({ length: n }, (_, i) => (noise[i]! + (i * windowMs >= atMs ? step : 0)) / 1000);
  };
  const zeros = (): Float64Array => new Float64Array(n);
  return {
    windowMs,
    slot: Float64Array.from({ length: n }, (_, i) => i),
    epochs: new Int32Array(n).fill(6),
    east: axis(1, 5),
    north: axis(1, -3),
    up: axis(2, 10),
    formal: { east: zeros(), north: zeros(), up: zeros() },
  };
}

const stage = { atMs, what: 'stage' };

describe('a step of known size', () => {
  // A planted truth: nominal coverage is 95 %, of 200 runs within four standard deviations.
  test.each([0, 0.3])('intervals hold it as often as they say, flicker %f of white', (flicker) => {
    let up = 0;
    const runs = 200;
    for (let k = 0; k < runs; k++) {
      const size = knownStep(series(flicker), [stage], atMs, 0.95)!;
      if (Math.abs(size.up_mm - 10) <= size.upPlusMinus_mm) up++;
    }
    expect(up / runs).toBeGreaterThan(0.89);
  });

  test('another step two days before is told apart', () => {
    const windows = series(0);
    for (let i = 72; i < 160; i++) windows.east[i]! += 0.02;
    const size = knownStep(windows, [stage, { atMs: 18 * day, what: 'knock' }], atMs, 0.95)!;
    expect(size.what).toBe('stage');
    expect(Math.abs(size.east_mm - 5)).toBeLessThan(2.5);
  });

  test('nothing where nothing lies beside it, or no such step is known', () => {
    expect(knownStep(series(0), [{ atMs: 41 * day, what: 'late' }], 41 * day, 0.95)).toBeUndefined();
    expect(knownStep(series(0), [{ atMs: 39.9 * day, what: 'late' }], 39.9 * day, 0.95)).toBeUndefined();
    expect(knownStep(series(0), [], atMs, 0.95)).toBeUndefined();
  });
});
