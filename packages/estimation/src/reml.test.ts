import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  estimateTogether,
  flickerCovariance,
  flickerD,
  powerLawResponse,
  satterthwaite,
  WhiteFlickerReml,
  type NoiseComponents,
} from './index.ts';
import reference from './reference/reml-scipy.json' with { type: 'json' };

const slots = Int32Array.from(reference.slots);
const n = slots.length;
const response = powerLawResponse(60, flickerD);
const covariance = flickerCovariance(slots, response);
const design = Float64Array.from(
  reference.slots.flatMap((s) => [1, Math.cos((2 * Math.PI * s) / 4), Math.sin((2 * Math.PI * s) / 4)]),
);

describe('white and flicker noise by restricted maximum likelihood', () => {
  const reml = new WhiteFlickerReml(design, covariance, n, 3);

  test('agrees with a dense restricted likelihood of numpy and scipy (reference/reml-scipy.py)', () => {
    const noise = reml.estimate(Float64Array.from(reference.observations));
    expectClose(noise.white, reference.white, { within: 1e-6 });
    expectClose(noise.flicker, reference.flicker, { within: 1e-6 });
    expectClose(noise.uncertainty, reference.uncertainty, { within: 1e-5 });
  });

  test('a shift and a daily wave of any size do not change the estimate', () => {
    const plain = reml.estimate(Float64Array.from(reference.observations));
    const shifted = reml.estimate(
      Float64Array.from(
        reference.observations,
        (y, i) => y + 4.2e6 + 30 * Math.cos((2 * Math.PI * reference.slots[i]!) / 4),
      ),
    );
    expectClose(shifted.white, plain.white, { within: 1e-6 });
    expectClose(shifted.flicker, plain.flicker, { within: 1e-6 });
  });

  test('of two series with the same part of flicker noise each keeps its own size, and both say what that part is', () => {
    const one = Float64Array.from(reference.observations);
    const [a, b] = estimateTogether([{ reml, series: [one, one.map((v) => 3 * v)] }]) as [
      NoiseComponents,
      NoiseComponents,
    ];
    const alone = reml.estimate(one);
    expectClose([a.white, a.flicker], [alone.white, alone.flicker], { within: 1e-6 });
    expectClose([b.white, b.flicker], [9 * alone.white, 9 * alone.flicker], { within: 1e-5 });
    // A variance that is nearly all flicker noise is known about twice as well.
    const freedom = (noise: NoiseComponents): number => satterthwaite(noise, 0.01, 4).degreesOfFreedom;
    expect(freedom(a) / freedom(alone)).toBeGreaterThan(1.7);
    expect(freedom(a) / freedom(alone)).toBeLessThanOrEqual(2);
  });

  test('white noise alone has the degrees of freedom of its residuals when flicker noise has no part', () => {
    const noise = {
      white: 2,
      flicker: 0,
      uncertainty: [(2 * 4) / 25, 0, 0] as const,
      whitened: new Float64Array(25),
    };
    expectClose(satterthwaite(noise, 1 / 3, 0), { variance: 2 / 3, degreesOfFreedom: 25 }, { within: 1e-12 });
  });

  test('constant observations, too few of them, and terms that cannot be told apart are refused', () => {
    expect(() => reml.estimate(new Float64Array(n).fill(7))).toThrow(/do not vary/);
    expect(() => new WhiteFlickerReml(new Float64Array(7).fill(1), new Float64Array(49), 6, 1)).toThrow(
      /too few/,
    );
    const twice = Float64Array.from(reference.slots.flatMap(() => [1, 1]));
    expect(() => new WhiteFlickerReml(twice, covariance, n, 2)).toThrow(/told apart/);
  });
});

describe('flicker noise', () => {
  test('the impulse response of flicker noise is that of Hosking (1981): 1, 1/2, 3/8, 5/16, 35/128', () => {
    expectClose(powerLawResponse(5, flickerD), [1, 1 / 2, 3 / 8, 5 / 16, 35 / 128], { within: 1e-15 });
  });

  test('d = 1 is a random walk: the covariance counts the common steps', () => {
    expectClose(
      flickerCovariance(Int32Array.from([0, 3, 9]), powerLawResponse(10, 1)),
      [1, 1, 1, 1, 4, 4, 1, 4, 10],
      { within: 0 },
    );
  });
});
