import { siderealPattern, source, type Source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { repeatSeconds } from './readiness.ts';
import { siderealFilter, siderealGain } from './sidereal.ts';
import type { TopocentricSeries } from './topocentric-series.ts';
import { spacingOf } from './windows.ts';

const step = 900_000;
const settings = { days: 7, repeatSeconds: repeatSeconds.GPS };

/** Positions every quarter of an hour, white noise of 2 mm, and what else is planted in up. */
function series(days: number, random: Source, more: (ms: number) => number): TopocentricSeries {
  const n = (days * dayMs) / step;
  const timesMs = Float64Array.from({ length: n }, (_, i) => 20_000 * dayMs + i * step);
  const noise = (): Float64Array => timesMs.map(() => 0.002 * random.normal());
  const variance = timesMs.map(() => 1e-6);
  return {
    timesMs,
    east: noise(),
    north: noise(),
    up: noise().map((v, i) => v + more(timesMs[i]!)),
    variance: { east: variance, north: variance, up: variance },
  };
}
const gainOf = (raw: TopocentricSeries): ReturnType<typeof siderealGain> => {
  const flag = new Uint8Array(raw.timesMs.length);
  const spacing = spacingOf(raw.timesMs, step);
  return siderealGain(raw, siderealFilter(raw, flag, settings), flag, dayMs / 8, spacing, settings.days);
};

describe('sidereal filter', () => {
  test('takes off most of a pattern that repeats with the satellites, and says by how much the windows gain', () => {
    const random = source(3);
    const pattern = siderealPattern(4, random);
    const gain = gainOf(series(400, random, (ms) => pattern(ms) / 1000));
    expect(gain.up).toBeGreaterThan(0.55);
    // Where there is nothing to take off, the noise of the pattern is put in: a root of 1 + 1/7.
    expect(gain.east).toBeLessThan(0);
    expect(gain.east).toBeGreaterThan(-0.12);
  });

  test('a daily wave of the structure and a movement stay', () => {
    const random = source(4);
    const pattern = siderealPattern(3, random);
    const at = 20_300 * dayMs;
    const raw = series(
      400,
      random,
      (ms) => pattern(ms) / 1000 + 0.005 * Math.cos((2 * Math.PI * ms) / dayMs) + (ms >= at ? 0.01 : 0),
    );
    const { timesMs, up } = siderealFilter(raw, new Uint8Array(raw.timesMs.length), settings);
    const mean = (keep: (ms: number) => boolean, weight?: (ms: number) => number): number => {
      let [sum, n] = [0, 0];
      timesMs.forEach((ms, i) => {
        if (!keep(ms)) return;
        sum += (weight?.(ms) ?? 1) * up[i]!;
        n++;
      });
      return sum / n;
    };
    expect(Math.abs(mean((ms) => ms >= at + dayMs) - mean((ms) => ms < at) - 0.01)).toBeLessThan(0.0005);
    const wave =
      2 *
      mean(
        (ms) => ms < at,
        (ms) => Math.cos((2 * Math.PI * ms) / dayMs),
      );
    expect(Math.abs(wave - 0.005)).toBeLessThan(0.0005);
  });

  test('a step that is known does not smear into the days after it', () => {
    const at = 20_040 * dayMs;
    const raw = series(80, source(6), (ms) => (ms >= at ? 3 : 0));
    const { timesMs, up } = siderealFilter(raw, new Uint8Array(raw.timesMs.length), settings, [at]);
    const after = up.filter((_, i) => timesMs[i]! >= at && timesMs[i]! < at + dayMs);
    expect(Math.abs(after.reduce((s, v) => s + v, 0) / after.length - 3)).toBeLessThan(0.001);
  });

  test('later positions change nothing that was filtered before', () => {
    // Whole years, so that the waves that are fitted stay what they are to rounding where there are none.
    const all = series(60, source(5), () => 0);
    const cut = <T extends { subarray(a: number, b: number): T }>(v: T): T => v.subarray(0, 30 * 96);
    const part = {
      ...all,
      timesMs: cut(all.timesMs),
      east: cut(all.east),
      north: cut(all.north),
      up: cut(all.up),
    };
    const whole = siderealFilter(all, new Uint8Array(all.timesMs.length), settings);
    const early = siderealFilter(part, new Uint8Array(part.timesMs.length), settings);
    // But for the waves of the solar day, which are fitted to all there is, and the last half day's mean.
    const difference = early.up
      .subarray(0, 29 * 96)
      .reduce((most, v, i) => Math.max(most, Math.abs(v - whole.up[i]!)), 0);
    expect(difference).toBeLessThan(0.0005);
  });
});
