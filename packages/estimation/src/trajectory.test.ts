import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  averagePower,
  fitTrajectories,
  flickerD,
  medianTrend,
  PowerLawGls,
  powerLawResponse,
  studentFactor,
} from './index.ts';
import reference from './reference/gls-scipy.json' with { type: 'json' };
import nile from './reference/nile.json' with { type: 'json' };

const slots = Int32Array.from(reference.slots);
const design = Float64Array.from(reference.design);
const observations = Float64Array.from(reference.observations);

describe('generalised least squares under white plus power-law noise, with gaps', () => {
  test.each(reference.cases)(
    'd = $d, white $white, power $power: dense matrices of numpy and scipy (reference/gls-scipy.py)',
    (dense) => {
      const gls = new PowerLawGls(slots, design, 5, powerLawResponse(150, dense.d));
      const fit = gls.fit(dense.white, dense.power, [observations]);
      expectClose(fit.logDeterminant, dense.logDeterminant, { within: 1e-9 });
      expectClose(fit.logInformation, dense.logInformation, { within: 1e-9 });
      const relative = (ours: ArrayLike<number>, theirs: readonly number[]): number =>
        Math.max(...theirs.map((v, i) => Math.abs(ours[i]! - v) / Math.max(...theirs.map(Math.abs))));
      expect(relative(fit.coefficients[0]!, dense.coefficients)).toBeLessThan(1e-10);
      expect(relative(fit.covariance, dense.covariance)).toBeLessThan(1e-10);
      expectClose(fit.squares[0]! / dense.square, 1, { within: 1e-10 });
    },
  );

  test('several series at once are each alone', () => {
    const gls = new PowerLawGls(slots, design, 5, powerLawResponse(150, flickerD));
    const other = observations.map((v, i) => 2 * v - i);
    const both = gls.fit(1, 0.5, [observations, other]);
    expectClose(both.coefficients[1]!, gls.fit(1, 0.5, [other]).coefficients[0]!, { within: 1e-10 });
  });

  test('terms that cannot be told apart, and too few observations, are refused', () => {
    const twice = Float64Array.from({ length: 2 * slots.length }, () => 1);
    const gls = new PowerLawGls(slots, twice, 2, powerLawResponse(150, flickerD));
    expect(() => gls.fit(1, 0.5, [observations])).toThrow(/cannot be told apart/);
    expect(() => new PowerLawGls(slots.subarray(0, 5), design, 5, powerLawResponse(150, flickerD))).toThrow(
      /too few for 5 terms/,
    );
    expect(() => gls.fit(0, 0, [observations])).toThrow(/not positive definite/);
  });
});

describe('trajectories', () => {
  const response = powerLawResponse(150, flickerD);
  const average = averagePower(slots, response);
  const [fit] = fitTrajectories(
    new PowerLawGls(slots, design, 5, response),
    [observations],
    [{ of: [0] }],
    average,
  ) as [ReturnType<typeof fitTrajectories>[number]];

  test('means over the posterior of the share are those of dense matrices at 4000 shares', () => {
    const { posterior } = reference;
    expectClose(average, posterior.average, { within: 1e-9 });
    expectClose(fit.share.mean, posterior.share, { within: 1e-3 });
    posterior.values.forEach((value, j) => {
      const sigma = Math.sqrt(posterior.variances[j]!);
      expect(Math.abs(fit.estimates[j]!.value - value)).toBeLessThan(2e-3 * sigma);
      expect(Math.abs(fit.estimates[j]!.variance / posterior.variances[j]! - 1)).toBeLessThan(2e-3);
    });
    expectClose(fit.white / posterior.white, 1, { within: 2e-3 });
    expectClose(fit.power / posterior.power, 1, { within: 5e-3 });
    expect(fit.share.low).toBeLessThan(fit.share.mean);
    expect(fit.share.high).toBeGreaterThan(fit.share.mean);
  });

  test('a series that its terms explain wholly is refused', () => {
    const gls = new PowerLawGls(slots, design, 5, response);
    expect(() => fitTrajectories(gls, [new Float64Array(slots.length)], [{ of: [0] }], average)).toThrow(
      /does not vary beyond its terms/,
    );
  });

  test('intervals of 95 % hold the velocity and a step in 93 to 97 % of 600 series of a year, a tenth of it missing', () => {
    const n = 365;
    const series = 600;
    const random = source(11);
    const kept = Int32Array.from(
      Array.from({ length: n }, (_, i) => i).filter((i) => i === 0 || i === n - 1 || random.uniform() > 0.1),
    );
    const years = Float64Array.from(kept, (slot) => (slot - n / 2) / 365.25);
    const terms = Float64Array.from([...years].flatMap((t, i) => [1, t, kept[i]! >= 200 ? 1 : 0]));
    const h = powerLawResponse(n, flickerD);
    const gls = new PowerLawGls(kept, terms, 3, h);
    const planted = Array.from({ length: series }, () => {
      const noise = whitePlusFlicker(n, 2, 1, random);
      return Float64Array.from(kept, (slot, i) => noise[slot]! + 7 * years[i]! + (slot >= 200 ? 4 : 0));
    });
    const fits = fitTrajectories(
      gls,
      planted,
      planted.map((_, k) => ({ of: [k] })),
      averagePower(kept, h),
    );
    const held = [7, 4].map((truth, j) => {
      const inside = fits.filter(({ estimates }) => {
        const { value, variance, degreesOfFreedom } = estimates[j + 1]!;
        return Math.abs(value - truth) <= studentFactor(0.95, degreesOfFreedom) * Math.sqrt(variance);
      });
      return inside.length / series;
    });
    // Three standard deviations of a share of 95 % in 600 cases are 2.7 %.
    for (const share of held) {
      expect(share).toBeGreaterThan(0.925);
      expect(share).toBeLessThan(0.977);
    }
  }, 120_000);
});

describe('a scan for one more term', () => {
  const steps = (n: number): Float64Array[] =>
    Array.from({ length: n }, (_, k) => Float64Array.from({ length: n }, (_v, i) => (i >= k ? 1 : 0)));

  test('tells what a fit with the candidate would improve, size and variance, with gaps', () => {
    const gls = new PowerLawGls(slots, design, 5, powerLawResponse(150, flickerD));
    const before = gls.fit(1, 0.5, [observations]);
    const candidate = Float64Array.from(slots, (slot) => (slot >= 100 ? 1 : 0));
    const [told] = gls.scan(1, 0.5, [observations], [candidate]);
    const wider = Float64Array.from(
      [...slots].flatMap((_, i) => [...design.subarray(5 * i, 5 * i + 5), candidate[i]!]),
    );
    const after = new PowerLawGls(slots, wider, 6, powerLawResponse(150, flickerD)).fit(1, 0.5, [
      observations,
    ]);
    const scale = before.squares[0]! / gls.degreesOfFreedom;
    expectClose(told!.improvement[0]!, (before.squares[0]! - after.squares[0]!) / scale, { within: 1e-9 });
    expectClose(told!.size[0]!, after.coefficients[0]![5]!, { within: 1e-10 });
    expectClose(told!.unitVariance, after.covariance[35]!, { within: 1e-10 });
    // The same term twice improves nothing.
    expect(
      gls.scan(1, 0.5, [observations], [Float64Array.from(slots, () => 1)])[0]!.improvement[0],
    ).toBeLessThan(1e-6);
  });

  test('the flow of the Nile changes between 1898 and 1899 (Cobb 1978)', () => {
    const flows = Float64Array.from(nile.flows);
    const n = flows.length;
    const years = Int32Array.from({ length: n }, (_, i) => i);
    const gls = new PowerLawGls(years, new Float64Array(n).fill(1), 1, powerLawResponse(n, flickerD));
    for (const share of [0, 0.2]) {
      const told = gls.scan(1 - share, share, [flows], steps(n).slice(5, n - 5));
      const best = told.reduce((b, t, k) => (t.improvement[0]! > told[b]!.improvement[0]! ? k : b), 0);
      // The first year of the new level.
      expect(nile.first + best + 5).toBe(1899);
      expect(told[best]!.size[0]).toBeLessThan(-200);
      // In white noise the step is the difference of the two means, 849.97 and 1097.75.
      if (share === 0) expectClose(told[best]!.size[0]!, -247.7777777778, { within: 1e-9 });
    }
  });
});

describe('the robust trend', () => {
  const days = Float64Array.from({ length: 3 * 365 }, (_, i) => i);
  const years = days.map((d) => d / 365);

  test('a season of exactly a year does not change it, and it is then without error (Blewitt et al. 2016)', () => {
    const values = years.map((t) => 5 + 3.2 * t + 4 * Math.sin(2 * Math.PI * t) + Math.cos(4 * Math.PI * t));
    const trend = medianTrend(years, values);
    expect(trend.kind).toBe('yearly pairs');
    expectClose(trend.slope, 3.2, { within: 1e-9 });
    expect(trend.standardError).toBeLessThan(1e-9);
  });

  test('a step in the middle is spanned by a minority of pairs, and trimmed', () => {
    const random = source(5);
    const values = years.map((t, i) => 3.2 * t + (i > 900 ? 40 : 0) + 0.5 * random.normal());
    const trend = medianTrend(years, values);
    expect(Math.abs(trend.slope - 3.2)).toBeLessThan(3 * trend.standardError);
    expect(trend.standardError).toBeLessThan(0.2);
  });

  test('its error formula: 3 times 1.2533 sigma over the root of a quarter of the pairs', () => {
    const random = source(6);
    const values = years.map(() => random.normal());
    const { slope, standardError, pairs } = medianTrend(years, values);
    // Slopes of pairs of white noise have sqrt(2), trimmed at two sigma 0.8796 of it (as their robust spread nearly is).
    expect(Math.abs(standardError / ((3 * 1.2533 * Math.SQRT2) / Math.sqrt(pairs / 4)) - 0.93)).toBeLessThan(
      0.12,
    );
    expect(Math.abs(slope)).toBeLessThan(3 * standardError);
  });

  test('of less than a year all pairs count; a third of outliers does no harm; too few values are refused', () => {
    const random = source(7);
    const half = years.slice(0, 180);
    const values = half.map(
      (t, i) => 9 * t + 0.3 * random.normal() + (i % 3 === 0 ? 50 * random.uniform() : 0),
    );
    const trend = medianTrend(half, values);
    expect(trend.kind).toBe('all pairs');
    expect(Math.abs(trend.slope - 9)).toBeLessThan(4);
    expect(() => medianTrend(years.slice(0, 9), years.slice(0, 9))).toThrow(/too few/);
  });
});
