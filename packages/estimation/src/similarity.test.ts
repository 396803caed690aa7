import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { congruency, fP, iterativeDatum, transformed, translationDatum } from './index.ts';
import numpy from './reference/similarity-numpy.json' with { type: 'json' };

describe('against the pseudo-inverse of numpy (reference/similarity-numpy.py)', () => {
  test.each(numpy.cases)(
    '$rank of rank',
    ({ difference, covariance, quadratic, rank, weights, datum, transformed: theirs }) => {
      const n = difference.length;
      const ours = congruency(difference, Float64Array.from(covariance));
      expectClose(ours.quadratic / quadratic, 1, { within: 1e-9 });
      expect(ours.rank).toBe(rank);
      const s = translationDatum(weights);
      expectClose([...s], datum, { within: 1e-12 });
      expectClose([...transformed(s, Float64Array.from(covariance), n)], theirs, { within: 1e-11 });
    },
  );

  test('the iteration of three axes ends where thousands of plain steps end', () => {
    const found = iterativeDatum(numpy.points, numpy.guard);
    found.forEach((row, i) => expectClose(row, numpy.iterated[i]!, { within: 1e-5 }));
  });
});

describe('closed forms', () => {
  test('of one axis and an odd number of points the iteration takes off the median (Chen 1983: least sum of lengths)', () => {
    const found = iterativeDatum([[0.3], [-0.1], [5.2], [0.0], [0.4]], 1e-7).map(([v]) => v!);
    expectClose(found, [0, -0.4, 4.9, -0.3, 0.1], { within: 1e-4 });
  });

  test('the quadratic form of four levels, of which one rose, splits exactly into the rest and that one', () => {
    // d = (0.2, -0.4, 3.1, 0.1), Q = 0.5 (I - 1/4): 15.14 = 2 sum (d - mean)^2 with rank three; without the third 0.41333 with rank two.
    const q = (n: number): Float64Array =>
      Float64Array.from({ length: n * n }, (_, k) => 0.5 * ((k % (n + 1) === 0 ? 1 : 0) - 1 / n));
    const centred = (d: number[]): number[] => d.map((v) => v - d.reduce((s, x) => s + x, 0) / d.length);
    const all = congruency(centred([0.2, -0.4, 3.1, 0.1]), q(4));
    expectClose(all.quadratic, 15.14, { within: 1e-10 });
    expect(all.rank).toBe(3);
    expectClose(fP(all.quadratic / 3, 3, 1e9), 0.001700834632569, { within: 1e-8 });
    const rest = congruency(centred([0.2, -0.4, 0.1]), q(3));
    expectClose(rest.quadratic, 0.4133333333333333, { within: 1e-10 });
    expectClose(all.quadratic - rest.quadratic, 14.726666666666667, { within: 1e-10 });
  });

  test('a datum needs a point, and a covariance must be one', () => {
    expect(() => translationDatum([0, 0])).toThrow(/no point defines the datum/);
    expect(() => congruency([1, 2], new Float64Array(4))).toThrow(/not positive semi-definite/);
    expect(() => congruency([1, 2], Float64Array.of(1, 2, 2, 1))).toThrow(/not positive semi-definite/);
  });
});
