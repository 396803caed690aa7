import { ProblemError } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import {
  affineDeterminant,
  composedAffine,
  fittedAffine,
  inverseAffine,
  throughAffine,
  type PlaneAffine,
  type PlanePoint,
} from './plane-affine.ts';

const turned: PlaneAffine = { origin: [488_000, 6_125_000], x: [1.7, -0.4], y: [-0.3, -1.9] };
const corners: PlanePoint[] = [
  [0, 0],
  [800, 0],
  [0, 600],
  [800, 600],
];

describe('affine maps of the plane', () => {
  test('there and back again is where one was; the inverse undoes on either side', () => {
    const back = inverseAffine(turned);
    for (const p of corners) {
      const again = throughAffine(back, throughAffine(turned, p));
      expect(Math.hypot(again[0] - p[0], again[1] - p[1])).toBeLessThan(1e-8);
    }
    const nothing = composedAffine(turned, back);
    expect(nothing.x[0]).toBeCloseTo(1, 12);
    expect(nothing.y[1]).toBeCloseTo(1, 12);
    expect(Math.abs(nothing.x[1]) + Math.abs(nothing.y[0])).toBeLessThan(1e-12);
  });

  test('an image of a map whose rows go down mirrors: its determinant is negative', () => {
    expect(affineDeterminant(turned)).toBeCloseTo(1.7 * -1.9 - -0.4 * -0.3, 12);
  });

  test('points that lie affinely are met, at coordinates of millions of metres', () => {
    const { map, largest } = fittedAffine(corners.map((p) => [p, throughAffine(turned, p)]));
    expect(largest).toBeLessThan(1e-8);
    for (const key of ['x', 'y'] as const)
      for (const i of [0, 1]) expect(map[key][i]).toBeCloseTo(turned[key][i]!, 10);
  });

  test('what is not affine is left over, and told: a corner that is off by four leaves a fourth of it at each', () => {
    const { largest } = fittedAffine(
      corners.map((p, i) => [p, i === 3 ? [p[0] + 4, p[1]] : p] as [PlanePoint, PlanePoint]),
    );
    // Of four corners of a rectangle one degree of freedom is left, and a fault spreads over all with a quarter each.
    expect(largest).toBeCloseTo(1, 10);
  });

  test('points on one line fix nothing, and a fold has no inverse', () => {
    const line = [0, 1, 2].map((t): [PlanePoint, PlanePoint] => [
      [t, 2 * t],
      [t, t],
    ]);
    expect(() => fittedAffine(line)).toThrow(ProblemError);
    expect(() => inverseAffine({ origin: [0, 0], x: [1, 2], y: [2, 4] })).toThrow(/determinant of zero/);
  });
});
