import { formatInstant, type TriggerRule, type TriggerState } from '@stillmark/records';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { describe, expect, test } from 'vitest';
import type { Evaluations } from './evaluate.ts';
import { runMachine, type MachineTask } from './machine.ts';

const day = 86_400_000;
const at = (k: number): string => formatInstant(k * day);

/** A value a day from day 1 on; undefined where it is missing. */
function means(values: readonly (number | undefined)[], plusMinus = 0): Evaluations {
  const there = values.flatMap((value, k) => (value === undefined ? [] : [{ endMs: (k + 1) * day, value }]));
  return {
    windowMs: day,
    endMs: Float64Array.from(there, (m) => m.endMs),
    value: Float64Array.from(there, (m) => m.value),
    plusMinus: new Float64Array(there.length).fill(plusMinus),
  };
}

const rule: TriggerRule = {
  basis: 'estimate',
  side: 'either',
  persistence: { needed: 2, of: 3 },
  release: 0.8,
};

function run(
  values: readonly (number | undefined)[],
  more: Partial<MachineTask> & { readonly plusMinus?: number } = {},
): ReturnType<typeof runMachine> {
  return runMachine(means(values, more.plusMinus), {
    ...rule,
    levels: [10, 20],
    missing: { means: 'passed over', noDataAfterMs: 4 * day },
    fromMs: 0,
    untilMs: values.length * day,
    dataMs: means(values).endMs,
    staleAfterMs: 2 * day,
    doubts: [],
    ...more,
  });
}

/** What changed, in short: `3 measured 1`. */
const short = (changes: readonly { readonly at: string; readonly to: TriggerState }[]): string[] =>
  changes.map(({ at: when, to }) => `${Date.parse(when) / day} ${to.condition} ${to.level}`);

describe('levels', () => {
  test('close when so many of the newest means pass, the newest among them, and open below the release', () => {
    const { changes, state } = run([1, 11, 2, 12, 13, 9, 9, 7.9, 9, 7, 3]);
    // 11 and 12 are two of three on day 4; below 8 are 7.9 and 7 on day 10, with 9 between them.
    expect(short(changes)).toEqual(['1 measured 0', '4 measured 1', '10 measured 0']);
    expect(changes[1]!.made.map(({ value }) => value)).toEqual([11, 2, 12]);
    expect(changes[1]!.from).toEqual({ condition: 'measured', level: 0 });
    expect(state).toEqual({ condition: 'measured', level: 0 });
  });

  test('two levels at once, and one after the other down', () => {
    expect(short(run([25, 25, 17, 15, 14, 7, 7]).changes)).toEqual([
      '1 measured 0',
      '2 measured 2',
      '5 measured 1',
      '7 measured 0',
    ]);
  });

  test('of either side, and of one', () => {
    expect(run([-11, -12]).state.level).toBe(1);
    expect(run([-11, -12], { side: 'negative' }).state.level).toBe(1);
    expect(run([-11, -12], { side: 'positive' }).state.level).toBe(0);
  });

  test('confident: the nearer end of the interval must pass', () => {
    expect(run([12, 12], { basis: 'confident', plusMinus: 3 }).state.level).toBe(0);
    expect(run([13, 13], { basis: 'confident', plusMinus: 3 }).state.level).toBe(1);
  });

  test('confident: a level is left by the figure itself, not because its interval is wide', () => {
    expect(run([13, 13, 9, 9, 9], { basis: 'confident', plusMinus: 3 }).state.level).toBe(1);
    expect(run([13, 13, 9, 7, 7], { basis: 'confident', plusMinus: 3 }).state.level).toBe(0);
  });
});

describe('what is missing', () => {
  test('is stale, then without data, and never looks like within the levels; the level stays beneath', () => {
    const { changes } = run([12, 12, undefined, undefined, undefined, undefined, undefined, 5, 5]);
    expect(short(changes)).toEqual([
      '1 measured 0',
      '2 measured 1',
      '4 stale 1',
      '6 no-data 1',
      '8 measured 1',
      '9 measured 0',
    ]);
  });

  test('passed over, means on both sides count together; against, they do not', () => {
    const values = [12, undefined, undefined, 12];
    expect(run(values).state.level).toBe(1);
    expect(run(values, { missing: { means: 'against', noDataAfterMs: 4 * day } }).state.level).toBe(0);
  });

  test('after a gap without data the count begins anew, and means of before made nothing', () => {
    expect(run([12, undefined, undefined, undefined, undefined, 12]).state.level).toBe(0);
    const { changes } = run([12, undefined, undefined, undefined, undefined, 12, 13]);
    expect(changes.at(-1)!.made.map(({ value }) => value)).toEqual([12, 13]);
  });

  test('data between two means are no silence, however long a mean is', () => {
    const weekly: Evaluations = {
      windowMs: 7 * day,
      endMs: Float64Array.of(7 * day, 14 * day),
      value: Float64Array.of(1, 2),
      plusMinus: Float64Array.of(0, 0),
    };
    const task: MachineTask = {
      ...rule,
      levels: [10],
      missing: { means: 'passed over', noDataAfterMs: 4 * day },
      fromMs: 0,
      untilMs: 20.5 * day,
      dataMs: Float64Array.from({ length: 82 }, (_, k) => ((k + 1) * day) / 4),
      staleAfterMs: day,
      doubts: [],
    };
    expect(short(runMachine(weekly, task).changes)).toEqual(['7 measured 0']);
    // Before the first can be whole nothing is said.
    expect(runMachine(weekly, { ...task, untilMs: 6 * day }).state.condition).toBe('establishing');
  });

  test('data without means of them for too long are as good as none', () => {
    const silent = means([1, undefined, undefined, undefined, undefined, undefined, undefined]);
    const { changes } = runMachine(silent, {
      ...rule,
      levels: [10],
      missing: { means: 'passed over', noDataAfterMs: 4 * day },
      fromMs: 0,
      untilMs: 7 * day,
      dataMs: Float64Array.from({ length: 28 }, (_, k) => ((k + 1) * day) / 4),
      staleAfterMs: day,
      doubts: [],
    });
    expect(short(changes)).toEqual(['1 measured 0', '6 no-data 0']);
  });

  test('the as-of time counts: a series that ended is stale although its last mean was fine', () => {
    const { state, since } = run([1, 1, 1], { untilMs: 5.5 * day });
    expect(state.condition).toBe('stale');
    // Dated by the silence, and not by when somebody looked.
    expect(since).toBe(at(5));
    expect(run([1, 1, 1], { untilMs: 6.9 * day }).since).toBe(at(5));
    expect(run([1, 1, 1], { untilMs: 9 * day }).since).toBe(at(7));
    expect(run([1, 1, 1], { untilMs: 9 * day }).state.condition).toBe('no-data');
  });
});

describe('conditions', () => {
  test('a base in doubt is a condition of its own, with the level beneath', () => {
    const doubts = [{ fromMs: 1.5 * day, toMs: 4.25 * day, why: 'base B2 in doubt' }];
    const { changes } = run([1, 1, 12, 12, 12], { doubts });
    expect(short(changes)).toEqual(['1 measured 0', '1.5 in-doubt 0', '4 in-doubt 1', '4.25 measured 1']);
    expect(changes[1]!.why).toBe('base B2 in doubt');
  });

  test('without a reference position nothing is watched; nor before it, nor after the end', () => {
    expect(run([50, 50], { fromMs: undefined as unknown as number })).toEqual({
      state: { condition: 'establishing', level: 0 },
      changes: [],
    });
    expect(short(run([50, 50, 1, 1], { fromMs: 2 * day }).changes)).toEqual(['3 measured 0']);
    expect(run([50, 50, 50, 50], { toMs: 3 * day }).state).toEqual({ condition: 'ended', level: 2 });
  });

  test('a change of several days ago is the same today: later means change no earlier state', () => {
    const values = [1, 11, 12, 3, 25, 26, undefined, 4, 4, 11];
    const whole = run(values).changes;
    for (let n = 1; n < values.length; n++)
      expect(whole.filter(({ at: when }) => when <= at(n))).toEqual(run(values.slice(0, n)).changes);
  });
});

/** Every level by itself from its definition: over the whole history before each mean, with nothing kept. */
function levelByDefinition(
  values: readonly number[],
  level: number,
  { persistence, release }: TriggerRule,
): boolean {
  let closed = false;
  values.forEach((value, k) => {
    const newest = values.slice(Math.max(0, k + 1 - persistence.of), k + 1);
    const over = newest.filter((v) => v >= level).length >= persistence.needed && value >= level;
    const under =
      newest.filter((v) => v < release * level).length >= persistence.needed && value < release * level;
    if (closed ? under : over) closed = !closed;
  });
  return closed;
}

test('against the definition of each level by itself, on random means', () => {
  const { uniform } = source(11);
  let above = 0;
  for (let round = 0; round < 400; round++) {
    const pick = (n: number): number => Math.floor(n * uniform());
    const of = 1 + pick(5);
    const own = { ...rule, persistence: { needed: 1 + pick(of), of }, release: 0.5 + 0.5 * uniform() };
    let value = 0;
    const values = Array.from({ length: 60 }, () => (value = Math.abs(value + 12 * (uniform() - 0.5))));
    const levels = [4, 9, 15];
    const expected = levels.filter((level) => levelByDefinition(values, level, own)).length;
    expect(run(values, { ...own, levels }).state.level).toBe(expected);
    if (expected > 0) above++;
  }
  expect(above).toBeGreaterThan(100);
});
