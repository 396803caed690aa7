import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { leastSquares, noiseDensity, periodograms, spectrumBands } from './index.ts';
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import lomb from './reference/lomb-scipy.json' with { type: 'json' };
import nist from './reference/nist-linear.json' with { type: 'json' };
import polar from './reference/polar-motion.json' with { type: 'json' };

/** Digits that agree: -log10 of the relative error, or of the absolute one where the certified value is zero. */
const digits = (ours: number, certified: number): number =>
  ours === certified
    ? 16
    : -Math.log10(Math.abs(ours - certified) / (certified === 0 ? 1 : Math.abs(certified)));

describe('least squares on the reference datasets of NIST', () => {
  test.each(nist.sets)(
    '$name, $digits digits',
    ({ kind, terms, y, x, coefficients, deviations, digits: needed }) => {
      const design = Float64Array.from(
        x.flatMap((row) => {
          if (kind === 'columns') return [1, ...(row as string[]).map(Number)];
          const v = Number(row);
          return kind === 'polynomial' ? Array.from({ length: terms }, (_, k) => v ** k) : [v];
        }),
      );
      const fit = leastSquares(design, terms, Float64Array.from(y, Number));
      coefficients.forEach((certified, j) =>
        expect(digits(fit.coefficients[j]!, Number(certified))).toBeGreaterThan(needed),
      );
      deviations.forEach((certified, j) => {
        const ours = Math.sqrt(fit.variance * fit.cofactor[j * terms + j]!);
        // Exact data: nothing is left but rounding.
        if (Number(certified) === 0) expect(ours).toBeLessThan(1e-6);
        else expect(digits(ours, Number(certified))).toBeGreaterThan(needed);
      });
    },
  );

  test('too few observations and dependent columns are refused', () => {
    expect(() => leastSquares(Float64Array.of(1, 2), 2, Float64Array.of(1))).toThrow(/too few for 2 terms/);
    expect(() => leastSquares(Float64Array.of(1, 1, 1, 1, 1, 1), 2, Float64Array.of(1, 2, 3))).toThrow(
      /cannot be told apart/,
    );
  });
});

describe('a real daily geodetic series: polar motion of the IERS, 1997 to 2021', () => {
  const days = Float64Array.from(polar.days);
  const middle = days.reduce((s, t) => s + t, 0) / days.length;
  const design = Float64Array.from(
    polar.days.flatMap((t) => [
      1,
      t - middle,
      ...[365.25, 433].flatMap((p) => [Math.cos((2 * Math.PI * t) / p), Math.sin((2 * Math.PI * t) / p)]),
    ]),
  );

  test.each([
    ['x', polar.x, undefined, polar.fits.x],
    ['y', polar.y, undefined, polar.fits.y],
    ['x weighted', polar.x, polar.sigmaX, polar.fits.xWeighted],
    ['y weighted', polar.y, polar.sigmaY, polar.fits.yWeighted],
  ] as const)('%s: seasonal terms as numpy fits them', (_, values, sigma, expected) => {
    const weights = sigma && Float64Array.from(sigma, (s) => 1 / (s * s));
    const { coefficients } = leastSquares(design, polar.terms, Float64Array.from(values), weights);
    // The stored values have three decimals, the fits were made of more.
    expectClose([...coefficients], expected, { within: 1e-4 });
  });

  test('its spectrum peaks at the year and at the Chandler period, and nowhere between two and six months', () => {
    const mean = polar.x.reduce((s, v) => s + v, 0) / polar.x.length;
    const values = Float64Array.from(polar.x, (v) => v - mean);
    const at = (period: number): number =>
      periodograms(days, [values], Float64Array.of(1 / period), 8)[0]![0]!;
    for (const period of [365.25, 433]) {
      expect(at(period)).toBeGreaterThan(5 * at(395));
      expect(at(period)).toBeGreaterThan(100 * at(120));
    }
  });
});

describe('periodogram', () => {
  test('is that of scipy (reference/lomb-scipy.py)', () => {
    const [density] = periodograms(
      Float64Array.from(lomb.times),
      [Float64Array.from(lomb.values)],
      Float64Array.from(lomb.frequencies),
      1,
    ) as [Float64Array];
    lomb.power.forEach((power, k) => expectClose(density[k]! / power, 1, { within: 1e-9 }));
  });

  test('of white plus flicker noise it lies about the density that the noise has', () => {
    const random = source(11);
    const n = 512;
    const bands = spectrumBands(n, 1, 1);
    const times = Float64Array.from({ length: n }, (_, i) => i);
    const sums = bands.map(() => 0);
    const trials = 120;
    for (let trial = 0; trial < trials; trial++) {
      const noise = whitePlusFlicker(n, 1, 0.4, random);
      const mean = noise.reduce((s, v) => s + v, 0) / n;
      const values = noise.map((v) => v - mean);
      bands.forEach(({ frequencies }, b) => {
        const [density] = periodograms(times, [values], frequencies, 1) as [Float64Array];
        sums[b]! += density.reduce((s, v) => s + v, 0) / density.length / trials;
      });
    }
    bands.forEach(({ frequencies }, b) => {
      const expected =
        frequencies.reduce((s, f) => s + noiseDensity({ white: 1, power: 0.16, d: 0.5 }, f, 1), 0) /
        frequencies.length;
      // In the lowest bands the noise has not been going on for long enough: it begins with the first value.
      if (frequencies[0]! * n < 16) return;
      expectClose(sums[b]! / expected, 1, { within: 0.12 });
    });
  });

  test('bands cover every frequency once', () => {
    const all = spectrumBands(450, 1, 3).flatMap(({ frequencies }) => [...frequencies]);
    expectClose(
      all,
      Array.from({ length: 224 }, (_, k) => (k + 1) / 450),
      { within: 1e-12 },
    );
  });
});
