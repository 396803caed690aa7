import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type StatementSettings } from '@stillmark/records';
import { mostOf } from '@stillmark/tooling/chance';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { ReferenceContrast } from '../contrast.ts';
import { along } from '../movement.ts';
import { referenceNoise } from '../noise.ts';
import { presentOf } from '../present.ts';
import { tieSteps } from '../ties.ts';
import type { WindowSeries } from '../windows.ts';
import { evaluationsOf, stationFigure, type Evaluations } from './evaluate.ts';

const hour = 3_600_000;
const perDay = 4;
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 30 * dayMs,
};
const reference = { fromMs: 0, toMs: 28 * dayMs };
const steps = [{ atMs: 50 * dayMs, what: 'antenna exchanged' }];

/** Means over six hours, some missing, with a step that is no movement and a creep from day 60 on. */
function series(seed: number, days: number, creep = 0): WindowSeries {
  const random = source(seed);
  const kept = Array.from({ length: days * perDay }, (_, i) => i).filter(() => random.uniform() > 0.08);
  const axis = (size: number): Float64Array => {
    const all = whitePlusFlicker(days * perDay, 0.0014 * size, 0.0004 * size, random);
    const at = (i: number): number =>
      all[i]! + (i >= 50 * perDay ? 0.02 : 0) + (creep * Math.max(0, i - 60 * perDay)) / perDay;
    const mean = all.subarray(0, 28 * perDay).reduce((s, v) => s + v, 0) / (28 * perDay);
    return Float64Array.from(kept, (i) => at(i) - mean);
  };
  const formal = new Float64Array(kept.length);
  return {
    windowMs: 6 * hour,
    slot: Float64Array.from(kept),
    epochs: new Int32Array(kept.length).fill(6),
    east: axis(1),
    north: axis(1),
    up: axis(2),
    formal: { east: formal, north: formal, up: formal },
  };
}

/** Means of a quantity as a trigger sees them. */
function watched(
  windows: WindowSeries,
  quantity: Parameters<typeof stationFigure>[0],
  asOfMs: number,
  rateOverMs?: number,
): Evaluations {
  const { contrast, noise } = presentOf({ reference, steps, settings, asOfMs }, windows);
  const figure = stationFigure(quantity, 1);
  return evaluationsOf(
    { windows, contrast, noise, confidence: 0.95, figure },
    { name: 'own', quantity, windowMs: dayMs, ...(rateOverMs === undefined ? {} : { rateOverMs }) },
  );
}

test('variances with the origin filtered once are those of the whole weights, over gaps and ties', () => {
  const windows = series(3, 80);
  const from = 0;
  const to = windows.slot.findIndex((s) => s >= 28 * perDay);
  const contrast = new ReferenceContrast(windows, { from, to }, tieSteps(windows, steps, { from, to }));
  for (const range of [
    { from: to + 3, to: to + 7 },
    { from: windows.slot.length - 9, to: windows.slot.length },
    // Across the step.
    { from: to + 40, to: windows.slot.length - 20 },
  ])
    for (const weights of [contrast.mean(range), contrast.slope(range)]) {
      const { a, b } = contrast.tiedCoefficients(weights, range);
      const direct = contrast.coefficients(contrast.tied(weights));
      expectClose([a, b], [direct.a, direct.b], { within: 1e-12 });
    }
});

describe('the newest mean is the figure that is stated', () => {
  const asOfMs = 80 * dayMs;
  const windows = series(5, 80, 0.0002);
  const { judged } = presentOf({ reference, steps, settings, asOfMs }, windows);
  const m = judged!.displacement;

  test('up, horizontal and longitudinal', () => {
    const newest = (quantity: Parameters<typeof stationFigure>[0]): number =>
      watched(windows, quantity, asOfMs).value.at(-1)!;
    const tolerance = { within: 1e-9, unit: 'mm' };
    expectClose(newest('up'), m.up_mm, tolerance);
    expectClose(newest('horizontal'), Math.hypot(m.east_mm, m.north_mm), tolerance);
    expectClose(newest('longitudinal'), along(m, 1).value, tolerance);
  });

  test('the rate too, but for noise that is not learnt from the newest span', () => {
    const rate = judged!.rate!.movement;
    const seen = watched(windows, 'up', asOfMs, 30 * dayMs);
    expectClose(seen.value.at(-1), rate.up_mm, { within: 1e-9, unit: 'mm in 30 days' });
  });
});

test('means of one day a mean, none of the reference period, none of a day without half of its windows', () => {
  const windows = series(7, 70);
  const { endMs } = watched(windows, 'up', 70 * dayMs);
  expect(endMs[0]).toBe(29 * dayMs);
  const there = (day: number): number => windows.slot.filter((s) => Math.floor(s / perDay) === day).length;
  for (let day = 28; day < 70; day++)
    expect(endMs.includes((day + 1) * dayMs)).toBe(there(day) >= perDay / 2);
});

test('what a mean says is not changed by later means', () => {
  const whole = series(9, 100, 0.0003);
  const n = whole.slot.findIndex((s) => s >= 75 * perDay);
  const cut = (values: Float64Array): Float64Array => values.slice(0, n);
  const early: WindowSeries = {
    ...whole,
    slot: cut(whole.slot),
    epochs: whole.epochs.slice(0, n),
    east: cut(whole.east),
    north: cut(whole.north),
    up: cut(whole.up),
  };
  for (const rate of [undefined, 14 * dayMs]) {
    const then = watched(early, 'horizontal', 75 * dayMs, rate);
    const now = watched(whole, 'horizontal', 100 * dayMs, rate);
    const k = then.endMs.length;
    expect([...now.endMs.subarray(0, k)]).toEqual([...then.endMs]);
    expectClose([...now.value.subarray(0, k)], [...then.value], { within: 1e-9, unit: 'mm' });
    expectClose([...now.plusMinus.subarray(0, k)], [...then.plusMinus], { within: 1e-9, unit: 'mm' });
  }
});

// Common practice, no source: what a trigger with basis `confident` promises is that of its interval.
test('the nearer end of the interval of a still station lies beyond zero as seldom as its confidence says', () => {
  const runs = 60;
  let beyond = 0;
  for (let seed = 0; seed < runs; seed++) {
    const windows = series(1000 + seed, 80);
    const { value, plusMinus } = watched(windows, 'up', 80 * dayMs);
    if (Math.abs(value.at(-1)!) > plusMinus.at(-1)!) beyond++;
  }
  expect(beyond).toBeLessThanOrEqual(mostOf(runs, 0.05));
});

test('noise of rates is learnt anew once a span, from spans that are over', () => {
  const windows = series(11, 140);
  const { plusMinus, endMs } = watched(windows, 'up', 140 * dayMs, 30 * dayMs);
  const quiet = { from: 0, to: windows.slot.findIndex((s) => s >= 28 * perDay) };
  expect(referenceNoise(windows, new ReferenceContrast(windows, quiet)).components.up.white).toBeGreaterThan(
    0,
  );
  // Of one span the intervals differ only by what is missing; from one to the next by what was learnt.
  const spans = new Set(Array.from(endMs, (ms) => Math.floor(ms / (30 * dayMs))));
  expect(spans.size).toBeGreaterThan(2);
  expect(plusMinus.every((v) => v > 0)).toBe(true);
});
