import { source, type Source } from '@stillmark/data/synthetic/noise.ts';
import { describe, expect, test } from 'vitest';
import { commonMode, type Seen } from './common-mode.ts';

const shared = 0.5;
/** Movements of stations in one stream with noise of 1 mm (2 mm up), half of it that of the base; planted by `moved`. */
function seen(
  { normal }: Source,
  roles: readonly Seen['role'][],
  moved: (index: number, role: Seen['role']) => readonly [number, number, number],
): Seen[] {
  const base = [normal(), normal(), normal()];
  return roles.map((role, i) => {
    const size = [1, 1, 2];
    const [east, north, up] = moved(i, role).map(
      (m, k) => m + size[k]! * (Math.sqrt(1 - shared) * normal() + Math.sqrt(shared) * base[k]!),
    ) as [number, number, number];
    return {
      id: `${role === 'base' ? 'B' : 'T'}${i}`,
      role,
      movement: {
        east_mm: east,
        north_mm: north,
        up_mm: up,
        ee: 1,
        en: 0,
        nn: 1,
        uu: 4,
        horizontalFreedom: 20,
        upFreedom: 20,
      },
    };
  });
}
const eight: Seen['role'][] = [...(Array(8).fill('monitoring') as Seen['role'][]), 'base', 'base'];
const best = (of: Seen[]): string => {
  const [first] = commonMode({ stream: 's', base: 'B', seen: of, shared })!.hypotheses;
  return `${first!.kind} ${first!.alone.join(' ')}`.trim();
};
const share = (answer: string, roles: Seen['role'][], moved: Parameters<typeof seen>[2]): number => {
  const runs = 200;
  const random = source(1000);
  return (
    Array.from({ length: runs }, () => best(seen(random, roles, moved))).filter((b) => b === answer).length /
    runs
  );
};

describe('what explains the movements of a stream, in 200 planted cases each', () => {
  test('nothing, where nothing moved', () => {
    expect(share('nothing', eight, () => [0, 0, 0])).toBeGreaterThan(0.97);
  });
  test('the base, where all seems to move together, other bases too', () => {
    expect(share('base', eight, () => [6, -4, 0])).toBeGreaterThan(0.95);
  });
  test('the whole structure, where its stations move together and other bases stay', () => {
    expect(
      share('structure', eight, (_, role) => (role === 'base' ? [0, 0, 0] : [6, -4, 0])),
    ).toBeGreaterThan(0.95);
  });
  test('one station alone', () => {
    expect(share('nothing T3', eight, (i) => (i === 3 ? [0, 8, 0] : [0, 0, 0]))).toBeGreaterThan(0.95);
  });
  test('the base and one station alone', () => {
    expect(share('base T3', eight, (i) => (i === 3 ? [6, 6, 0] : [6, -4, 0]))).toBeGreaterThan(0.9);
  });
});

test('without another base the two cannot be told apart: equal weights', () => {
  const { hypotheses, others } = commonMode({
    stream: 's',
    base: 'B',
    seen: seen(source(5), eight.slice(0, 8), () => [6, -4, 0]),
    shared,
  })!;
  const of = (kind: string): number => hypotheses.find((h) => h.kind === kind)!.weight;
  expect(others).toEqual([]);
  expect(of('base')).toBeCloseTo(of('structure'), 12);
  expect(of('nothing')).toBeLessThan(0.01);
});

test('the common movement is the weighted mean with its standard deviation', () => {
  const { hypotheses } = commonMode({
    stream: 's',
    base: 'B',
    seen: seen(source(7), eight, () => [6, -4, 3]),
    shared,
  })!;
  const { common } = hypotheses.find(({ kind }) => kind === 'base')!;
  // Equal variances with half in common: v (rho + (1 - rho) / n) of ten stations.
  expect(common!.eastSigma_mm).toBeCloseTo(Math.sqrt(0.5 + 0.5 / 10), 12);
  expect(common!.upSigma_mm).toBeCloseTo(2 * Math.sqrt(0.5 + 0.5 / 10), 12);
  expect(Math.abs(common!.east_mm - 6)).toBeLessThan(3 * common!.eastSigma_mm);
});

test('two stations say nothing of what they have in common', () => {
  expect(
    commonMode({
      stream: 's',
      base: 'B',
      seen: seen(source(1), ['monitoring', 'monitoring', 'base'], () => [6, 0, 0]),
      shared,
    }),
  ).toBeUndefined();
});
