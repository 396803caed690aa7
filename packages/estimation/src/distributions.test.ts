import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  confidenceFactor,
  confidenceFactorEstimated,
  detectableNoncentrality,
  fP,
  noncentralFUpper,
  studentFactor,
  studentP,
} from './index.ts';

describe('confidence factors', () => {
  test('with known variance they are the roots of chi-square quantiles (scipy.stats.chi2.ppf, 1.10.1)', () => {
    const coverage = [0.6826894921370859, 0.9, 0.95, 0.99, 0.999];
    const expected = [
      [1.0, 1.644853627, 1.9599639845, 2.5758293035, 3.2905267315],
      [1.515172904, 2.1459660263, 2.4477468307, 3.0348542588, 3.7169221888],
      [1.8779617622, 2.5002777108, 2.7954834829, 3.3682141752, 4.0331422237],
    ];
    expected.forEach((row, i) =>
      expectClose(
        coverage.map((p) => confidenceFactor(i + 1, p)),
        row,
        { within: 1e-9 },
      ),
    );
  });

  test('with estimated variance they are sqrt(d F) (scipy.stats.f.ppf; 4.371 for r = 3 in the deformation literature)', () => {
    const r = [1, 2, 3, 5, 10, 20, 50, 100, 1000];
    const twoD = [
      19.9749843554, 6.164414003, 4.3708339012, 3.401803946, 2.8645491845, 2.6430393401, 2.522938704,
      2.4848725894, 2.4514178084,
    ];
    const oneD = [
      12.7062047362, 4.3026527297, 3.1824463053, 2.5705818356, 2.228138852, 2.0859634473, 2.0085591121,
      1.9839715185, 1.9623390808,
    ];
    expectClose(
      r.map((v) => confidenceFactorEstimated(2, 0.95, v)),
      twoD,
      { within: 1e-9 },
    );
    expectClose(
      r.map((v) => studentFactor(0.95, v)),
      oneD,
      { within: 1e-9 },
    );
  });

  test('the p-value of F belongs to its quantile', () => {
    expectClose(fP(confidenceFactorEstimated(2, 0.95, 17.5) ** 2 / 2, 2, 17.5), 0.05, { within: 1e-12 });
  });

  test('p-values of t are two-sided', () => {
    expectClose(studentP(-2.0859634473, 20), 0.05, { within: 1e-10 });
    expect(studentP(0, 5)).toBeCloseTo(1, 12);
  });

  test('a probability of 0 or 1 is refused', () => {
    expect(() => confidenceFactor(2, 1)).toThrow(/between 0 and 1/);
  });
});

describe('minimal detectable movement', () => {
  test('the noncentral F distribution is that of scipy.stats.ncf (1.10.1)', () => {
    const cases = [
      [3, 2, 20, 5],
      [4.2, 1, 12.5, 9.3],
      [3.1, 2, 1000, 9.63],
      [2, 3, 7, 0.5],
      [10, 2, 30, 60],
    ] as const;
    const expected = [
      0.5158682670440291, 0.8326164114933704, 0.7871003692708386, 0.2509545182904265, 0.9982373555083298,
    ];
    expectClose(
      cases.map(([f, d1, d2, nc]) => noncentralFUpper(f, d1, d2, nc)),
      expected,
      { within: 1e-10 },
    );
  });

  test('noncentrality found in 8 of 10 cases (scipy: brentq over ncf)', () => {
    const cases = [
      [0.05, 0.8, 2, 20],
      [0.01, 0.8, 1, 15],
      [0.005, 0.8, 2, 33.3],
    ] as const;
    expectClose(
      cases.map(([alpha, power, d1, d2]) => detectableNoncentrality(alpha, power, d1, d2)),
      [11.23573072146925, 14.828809285974618, 18.43682603272513],
      { within: 1e-8 },
    );
  });

  test('in one dimension with known variance it is 2.80 sigma at 5 % and 4.13 sigma at 0.1 %, 80 % (Baarda 1968)', () => {
    expectClose(Math.sqrt(detectableNoncentrality(0.05, 0.8, 1, 1e7)), 2.8015818, { within: 1e-5 });
    expectClose(Math.sqrt(detectableNoncentrality(0.001, 0.8, 1, 1e7)), 4.132148, { within: 1e-5 });
  });
});
