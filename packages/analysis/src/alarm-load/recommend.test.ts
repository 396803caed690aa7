import { dayMs } from '@stillmark/records';
import { expect, test } from 'vitest';
import { recommend, type NamedSetting } from './recommend.ts';
import type { CandidateLoad } from './simulate.ts';

const hour = 3_600_000;
const setting = (hours: number, level_mm = 8): NamedSetting => ({
  windowMs: hours * hour,
  level_mm,
  persistence: { needed: 2, of: 3 },
  basis: 'confident',
  release: 0.8,
});
/** Two stations in a thousand months; delays in days. */
const load = (alarms: number, days: readonly number[], messages = 2 * alarms): CandidateLoad => ({
  alarms: Float64Array.of(alarms, 0),
  messages,
  months: 1000,
  quietMonths: 1000 - alarms,
  step: [Float64Array.from(days, (d) => d * dayMs), Float64Array.of(0)],
});
const requirement = { falseAlarms: 0.1, step: { size_mm: 12, withinMs: 2 * dayMs } };
const ten = (nine: number): number[] => [0.5, 0.5, 0.5, 0.5, 0.5, 1, 1, 1, nine, 9];

test('of those that meet what is asked the longest means, then the fewest messages', () => {
  const settings = [setting(6), setting(24), setting(24, 6), setting(12)];
  const loads = [load(1, ten(1)), load(50, ten(2)), load(20, ten(2)), load(0, ten(1))];
  const { candidates, recommended } = recommend(settings, loads, requirement);
  expect(candidates.every(({ meets }) => meets)).toBe(true);
  expect(recommended).toBe(2);
  expect(candidates[2]).toMatchObject({
    network: 0.02,
    worst: 0.02,
    quiet: 0.98,
    step: { halfMs: 0.5 * dayMs, nineMs: 2 * dayMs },
  });
  expect(candidates[2]!.messages).toBeCloseTo(40 / 1000 / 30, 12);
});

test('too many false alarms or too late does not meet; the nearest is told', () => {
  const settings = [setting(6), setting(24), setting(12)];
  const { candidates, recommended, nearest } = recommend(
    settings,
    [load(200, ten(1)), load(0, ten(3)), load(110, ten(1))],
    requirement,
  );
  expect(candidates.map(({ meets }) => meets)).toEqual([false, false, false]);
  expect(recommended).toBeUndefined();
  expect(nearest).toBe(2);
});

test('what is not found in nine of ten cases has no such delay, and none seen is not none', () => {
  const never = [1, 1, 1, 1, 1, 1, 1, 1, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const [candidate] = recommend([setting(6)], [load(0, never)], requirement).candidates;
  expect(candidate!.step).toEqual({ halfMs: dayMs });
  expect(candidate!.meets).toBe(false);
  // The rule of three: 0 of n is at most 3/n with 95 %, and 0.003 of a thousand months is more than is borne here.
  const strict = { falseAlarms: 0.002, step: { size_mm: 12, withinMs: 2 * dayMs } };
  expect(recommend([setting(6)], [load(0, ten(1))], strict).candidates[0]!.meets).toBe(false);
  expect(recommend([setting(6)], [load(0, ten(1))], requirement).candidates[0]!.meets).toBe(true);
});

test('where nothing finds what is asked, nothing is nearest', () => {
  const never = Array.from({ length: 10 }, () => Number.POSITIVE_INFINITY);
  const { nearest, recommended } = recommend(
    [setting(6), setting(24)],
    [load(0, never), load(0, never)],
    requirement,
  );
  expect([nearest, recommended]).toEqual([undefined, undefined]);
});

test('of equals one that asks for more than a single mean', () => {
  const single = { ...setting(24), persistence: { needed: 1, of: 1 } };
  const { recommended } = recommend([single, setting(24)], [load(0, ten(1)), load(0, ten(1.5))], requirement);
  expect(recommended).toBe(1);
});
