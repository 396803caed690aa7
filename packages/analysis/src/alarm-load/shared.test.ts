import { source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs } from '@stillmark/records';
import { expect, test } from 'vitest';
import type { WindowSeries } from '../windows.ts';
import { sharedVariance, usualShare } from './shared.ts';

/** Stations that take a share of their variance from one base. */
function stations(
  count: number,
  share: number,
  n = 400,
): { windows: WindowSeries; reference: { fromMs: number; toMs: number } }[] {
  const random = source(3);
  const noise = (): Float64Array => Float64Array.from({ length: n }, () => random.normal());
  const base = [noise(), noise(), noise()] as const;
  return Array.from({ length: count }, () => {
    const axis = (a: 0 | 1 | 2): Float64Array =>
      noise().map((v, i) => 0.001 * (Math.sqrt(1 - share) * v + Math.sqrt(share) * base[a][i]!));
    const formal = new Float64Array(n);
    return {
      windows: {
        windowMs: dayMs / 4,
        slot: Float64Array.from({ length: n }, (_, i) => i),
        epochs: new Int32Array(n).fill(6),
        east: axis(0),
        north: axis(1),
        up: axis(2),
        formal: { east: formal, north: formal, up: formal },
      },
      reference: { fromMs: 0, toMs: (n / 4) * dayMs },
    };
  });
}

test.each([0, 0.5, 0.8])('a planted share of %f is found', (share) => {
  expect(Math.abs(sharedVariance(stations(8, share)) - share)).toBeLessThan(0.06);
});

test('one station says nothing of it: half, as of equal antennas', () => {
  expect(sharedVariance(stations(1, 0.8))).toBe(usualShare);
  expect(sharedVariance(stations(3, 0.8, 20))).toBe(usualShare);
});
