import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import type { NoiseComponents } from '@stillmark/estimation';
import { dayMs, type AlarmSetting } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { Latches } from '../triggers/machine.ts';
import { Latch } from './latch.ts';
import { simulateLoad, type LoadStation, type LoadTask } from './simulate.ts';

const hour = 3_600_000;
const windowMs = 6 * hour;
const known = (white: number, flicker: number): NoiseComponents => ({
  white: (white / 1000) ** 2,
  flicker: (flicker / 1000) ** 2,
  // Known as well as can be: the intervals are those of a normal distribution.
  uncertainty: [1e-24, 0, 1e-24],
  whitened: new Float64Array(),
});
const station = (white: number, flicker: number, id = 'S1'): LoadStation => {
  const noise = known(white, flicker);
  return { id, noise: { east: noise, north: noise, up: noise }, eastNorth: 0 };
};
const setting = (more: Partial<AlarmSetting> = {}): AlarmSetting => ({
  windowMs,
  level_mm: 4,
  persistence: { needed: 1, of: 1 },
  basis: 'estimate',
  release: 1,
  ...more,
});
const task = (candidates: AlarmSetting[], more: Partial<LoadTask> = {}): LoadTask => ({
  quantity: 'up',
  side: 'positive',
  stations: [station(2, 0)],
  shared: 0,
  windowMs,
  // So long that the error of the reference position is nothing beside that of a mean.
  referenceMs: 360 * dayMs,
  confidence: 0.95,
  candidates,
  runs: 40,
  seed: 7,
  ...more,
});
const perMonth = (alarms: number, months: number): number => alarms / months;

/** Upper tail of the normal distribution (Abramowitz and Stegun 1964, 7.1.26; 1.5e-7). */
function upper(z: number): number {
  const t = 1 / (1 + (0.3275911 * Math.abs(z)) / Math.SQRT2);
  const poly =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const tail = (poly * Math.exp((-z * z) / 2)) / 2;
  return z >= 0 ? tail : 1 - tail;
}

/**
 * The chain in which a latch lives while means are independent: the last `of` of them over or not, and closed or not (embedding after Fu
 * and Koutras 1994). With release at the level itself a mean that is not over is below.
 */
function chain(p: number, needed: number, of: number): { closings: number; first: number } {
  const bits = 1 << of;
  const next = (state: number, over: 0 | 1): { state: number; closes: boolean } => {
    const [history, closed] = [state % bits, state >= bits];
    const own = ((history << 1) | over) % bits;
    const overs = own.toString(2).split('1').length - 1;
    const turns = closed ? over === 0 && of - overs >= needed : over === 1 && overs >= needed;
    return { state: own + (turns === closed ? 0 : bits), closes: turns && !closed };
  };
  let share = new Float64Array(2 * bits);
  share[0] = 1;
  let closings = 0;
  for (let step = 0; step < 4000; step++) {
    const after = new Float64Array(2 * bits);
    closings = 0;
    share.forEach((weight, state) => {
      if (weight === 0) return;
      for (const over of [0, 1] as const) {
        const part = weight * (over === 1 ? p : 1 - p);
        const to = next(state, over);
        after[to.state]! += part;
        if (to.closes) closings += part;
      }
    });
    share = after;
  }
  // Expected number of means until it first closes, by the chain with that as its end.
  let waiting = new Float64Array(bits);
  for (let round = 0; round < 40_000; round++)
    waiting = waiting.map((_, state) =>
      ([0, 1] as const).reduce((sum: number, over) => {
        const to = next(state, over);
        return sum + (over === 1 ? p : 1 - p) * (to.closes ? 0 : waiting[to.state % bits]!);
      }, 1),
    );
  return { closings, first: waiting[0]! };
}

describe('white noise has exact answers', () => {
  const p = upper(2);
  const meansAMonth = 120;

  test('the chain agrees with the known run lengths (Feller 1968, XIII.7, equation 7.7)', () => {
    for (const k of [1, 2, 3]) {
      const q = 0.3;
      expect(chain(q, k, k).first).toBeCloseTo((1 - q ** k) / ((1 - q) * q ** k), 6);
    }
  });

  const persistences: [number, number][] = [
    [1, 1],
    [2, 2],
    [2, 3],
    [1, 2],
    [3, 5],
  ];
  test.each(persistences)('%i of %i: false alarms as the chain has them', (needed, of) => {
    const level_mm = needed === 1 ? 4 : 2.5;
    const [load] = simulateLoad(task([setting({ level_mm, persistence: { needed, of } })]));
    const expected = meansAMonth * chain(upper(level_mm / 2), needed, of).closings;
    const events = load!.alarms[0]!;
    // Closings are rarer than means and nearly independent: four standard deviations of a Poisson count.
    expect(Math.abs(events - expected * load!.months)).toBeLessThan(4 * Math.sqrt(expected * load!.months));
    expect(events).toBeGreaterThan(100);
  });

  test('single means: p (1 - p), p of the normal distribution; of both sides twice as many', () => {
    const one = simulateLoad(task([setting()]))[0]!;
    const both = simulateLoad(task([setting()], { side: 'either' }))[0]!;
    const expected = (q: number): number => meansAMonth * q * (1 - q);
    for (const [load, q] of [
      [one, p],
      [both, 2 * p],
    ] as const)
      expect(Math.abs(load.alarms[0]! - expected(q) * load.months)).toBeLessThan(
        4 * Math.sqrt(expected(q) * load.months),
      );
  });

  test('longer means have their noise divided by the root of their number', () => {
    const [load] = simulateLoad(task([setting({ windowMs: dayMs, level_mm: 2 })]));
    const expected = 30 * p * (1 - p) * load!.months;
    expect(Math.abs(load!.alarms[0]! - expected)).toBeLessThan(4 * Math.sqrt(expected));
  });

  test('confident: the same as a level higher by the half-width', () => {
    const half = 1.959964 * 2;
    const [confident, higher] = simulateLoad(
      task([setting({ level_mm: 1, basis: 'confident' }), setting({ level_mm: 1 + half, release: 1 })]),
    );
    // The half-width of the reference period adds a thousandth of itself.
    expect(Math.abs(confident!.alarms[0]! - higher!.alarms[0]!)).toBeLessThan(0.1 * higher!.alarms[0]! + 3);
    expect(higher!.alarms[0]).toBeGreaterThan(50);
  });

  test('horizontal: the size of a movement follows a Rayleigh distribution', () => {
    const [load] = simulateLoad(task([setting({ level_mm: 5 })], { quantity: 'horizontal' }));
    const q = Math.exp((-5 * 5) / 2 / 4);
    const expected = meansAMonth * q * (1 - q) * load!.months;
    expect(Math.abs(load!.alarms[0]! - expected)).toBeLessThan(4 * Math.sqrt(expected));
  });

  test('a step is found after a geometric number of means', () => {
    const [load] = simulateLoad(task([setting({ level_mm: 8 })], { step: 7, runs: 200 }));
    const delays = load!.step![0]!;
    const q = upper((8 - 7) / 2);
    // Movements begin with a window: the k-th mean reports it with probability 1 - (1 - q)^k.
    for (const k of [1, 2, 4, 8]) {
      const share = delays.filter((ms) => ms <= k * windowMs).length / delays.length;
      const expected = 1 - (1 - q) ** k;
      expect(Math.abs(share - expected)).toBeLessThan(
        4 * Math.sqrt((expected * (1 - expected)) / delays.length),
      );
    }
  });

  test('a ramp without noise is found when its mean passes the level', () => {
    const [load] = simulateLoad(
      task([setting({ windowMs: dayMs, persistence: { needed: 2, of: 3 }, level_mm: 9.9 })], {
        stations: [station(1e-6, 0)],
        ramp: 1,
      }),
    );
    // A mean that ends at t has reached t - 0.5. Movements that begin with a mean: 10.5 at 11 d, confirmed at 12 d; those that begin one, two
    // or three windows into it: 10.25 at 10.75 d, 10 at 10.5 d, 10.75 at 11.25 d, each confirmed a day later.
    for (const ms of load!.ramp![0]!) expect([12, 11.75, 11.5, 12.25]).toContain(ms / dayMs);
    expect(new Set(load!.ramp![0]).size).toBe(4);
  });
});

test('coloured noise against brute force: another generator, another latch', () => {
  const [white, flicker] = [1.2, 0.5];
  const months = 12;
  const runs = 60;
  const candidate = setting({
    windowMs: dayMs,
    level_mm: 2,
    persistence: { needed: 2, of: 3 },
    release: 0.8,
  });
  const referenceMs = 28 * dayMs;
  const [load] = simulateLoad(
    task([candidate], { stations: [station(white, flicker)], referenceMs, side: 'either', runs }),
  );
  const random = source(4711);
  const counts = Array.from({ length: runs }, () => {
    const all = whitePlusFlicker((28 + 30 * months) * 4, white, flicker, random);
    const mean = all.subarray(0, 112).reduce((s, v) => s + v, 0) / 112;
    const days = Array.from(
      { length: 30 * months },
      (_, d) => all.subarray(112 + 4 * d, 116 + 4 * d).reduce((s, v) => s + v, 0) / 4 - mean,
    );
    let [closed, closings] = [false, 0];
    days.forEach((value, d) => {
      const newest = days.slice(Math.max(0, d - 2), d + 1).map(Math.abs);
      const over = Math.abs(value) >= 2 && newest.filter((v) => v >= 2).length >= 2;
      const under = Math.abs(value) < 1.6 && newest.filter((v) => v < 1.6).length >= 2;
      if (!closed && over) closings++;
      closed = closed ? !under : over;
    });
    return closings;
  });
  const total = counts.reduce((s, c) => s + c, 0);
  const mean = total / runs;
  const spread = Math.sqrt(counts.reduce((s, c) => s + (c - mean) ** 2, 0) / (runs - 1));
  expect(total).toBeGreaterThan(30);
  // Two estimates with the same spread.
  expect(Math.abs(load!.alarms[0]! / runs - mean)).toBeLessThan(4 * spread * Math.sqrt(2 / runs));
});

test('what stations share changes no expectation, but months without any alarm', () => {
  const stations = Array.from({ length: 10 }, (_, i) => station(2, 0.3, `S${i}`));
  const candidate = setting({ level_mm: 6.5 });
  const of = (shared: number): ReturnType<typeof simulateLoad>[number] =>
    simulateLoad(task([candidate], { stations, shared, runs: 60, referenceMs: 28 * dayMs }))[0]!;
  const [apart, together] = [of(0), of(0.9)];
  const rate = (load: typeof apart): number =>
    perMonth(
      load.alarms.reduce((s, v) => s + v, 0),
      load.months,
    );
  expect(rate(together) / rate(apart)).toBeGreaterThan(0.6);
  expect(rate(together) / rate(apart)).toBeLessThan(1.6);
  expect(together.quietMonths).toBeGreaterThan(1.2 * apart.quietMonths);
});

test('the same seed gives the same numbers, another one others', () => {
  const run = (seed: number): number[] => [
    ...simulateLoad(task([setting({ level_mm: 3 })], { seed, runs: 6 }))[0]!.alarms,
  ];
  expect(run(1)).toEqual(run(1));
  expect(run(1)).not.toEqual(run(2));
});

test('the fast latch is the latch of triggers', () => {
  const { uniform } = source(5);
  for (let round = 0; round < 200; round++) {
    const of = 1 + Math.floor(5 * uniform());
    const persistence = { needed: 1 + Math.floor(of * uniform()), of };
    const release = 0.5 + 0.5 * uniform();
    const fast = new Latch(5, release, persistence);
    const slow = new Latches({ levels: [5], side: 'either', basis: 'estimate', persistence, release });
    for (let k = 0; k < 60; k++) {
      const value = 10 * uniform();
      fast.take(value, value);
      slow.take({ value, plusMinus: 0 });
      expect(fast.closed).toBe(slow.level === 1);
    }
  }
});

test('a level below the noise is not quiet because it is never left: what stands closed finds nothing', () => {
  const [load] = simulateLoad(
    task([setting({ windowMs: dayMs, level_mm: 0.5, persistence: { needed: 4, of: 4 }, release: 0.8 })], {
      side: 'either',
      stations: [station(1.4, 0.8)],
      referenceMs: 28 * dayMs,
      step: 12,
    }),
  );
  const share = load!.quietMonths / load!.months;
  expect(share).toBeLessThan(0.5);
  const notFound = load!.step![0]!.filter((ms) => !Number.isFinite(ms)).length / load!.step![0]!.length;
  expect(notFound).toBeGreaterThan(0.5);
});

// The bound that is told where no false alarm was seen rests on months that know nothing of each other.
test('none seen in all months is seldom where one in a hundred months is to be expected', () => {
  const runs = 20;
  const level_mm = 2 * 4.1;
  let none = 0;
  const tries = 30;
  for (let seed = 0; seed < tries; seed++) {
    const [load] = simulateLoad(
      task([setting({ level_mm })], {
        stations: Array.from({ length: 10 }, (_, i) => station(2, 0, `S${i}`)),
        referenceMs: 28 * dayMs,
        runs,
        seed,
      }),
    );
    if (load!.alarms.every((v) => v === 0)) none++;
  }
  // p of 4.1 sigma, ten stations, 120 means a month, 240 months: six alarms are to be expected in each try.
  expect(none).toBeLessThanOrEqual(2);
});
