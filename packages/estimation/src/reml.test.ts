import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  estimateTogether,
  noiseAxes,
  flickerCovariance,
  flickerD,
  powerLawResponse,
  satterthwaite,
  shareLikelihood,
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
  const reml = new WhiteFlickerReml(noiseAxes(design, covariance, n, 3));

  const one = Float64Array.from(reference.observations);
  const estimate = (series: Float64Array): NoiseComponents => estimateTogether([reml.stretch([series])])[0]!;

  test('its likelihood is greatest where a dense one of numpy and scipy is (reference/reml-scipy.py)', () => {
    const { cost, components } = shareLikelihood([reml.stretch([one])]);
    const at = (share: number): number => cost(share);
    let [low, high] = [0, 1];
    const golden = (Math.sqrt(5) - 1) / 2;
    for (let i = 0; i < 80; i++) {
      const [a, b] = [high - golden * (high - low), low + golden * (high - low)];
      if (at(a) <= at(b)) high = b;
      else low = a;
    }
    const [best] = components((low + high) / 2);
    expectClose(best, { white: reference.white, flicker: reference.flicker }, { within: 1e-6 });
  });

  test('its means are those of the posterior, by another rule of integration', () => {
    const { cost, components } = shareLikelihood([reml.stretch([one])]);
    // Simpson's rule in the share itself, uniform, ten thousand intervals.
    const n = 10_000;
    let [total, white, flicker] = [0, 0, 0];
    const least = Math.min(...Array.from({ length: 101 }, (_, i) => cost(i / 100)));
    for (let i = 0; i <= n; i++) {
      const share = Math.min(1 - 1e-9, i / n);
      const weight = (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp((least - cost(share)) / 2);
      const [c] = components(share);
      total += weight;
      white += weight * c!.white;
      flicker += weight * c!.flicker;
    }
    const noise = estimate(one);
    expectClose(noise.white / (white / total), 1, { within: 1e-4 });
    expectClose(noise.flicker / (flicker / total), 1, { within: 1e-4 });
  });

  test('a shift and a daily wave of any size do not change the estimate', () => {
    const plain = estimate(one);
    const shifted = estimate(
      Float64Array.from(
        reference.observations,
        (y, i) => y + 4.2e6 + 30 * Math.cos((2 * Math.PI * reference.slots[i]!) / 4),
      ),
    );
    expectClose(shifted.white, plain.white, { within: 1e-6 });
    expectClose(shifted.flicker, plain.flicker, { within: 1e-6 });
  });

  test('of two series with the same part of flicker noise each keeps its own size, and both say what that part is', () => {
    const [a, b] = estimateTogether([reml.stretch([one, one.map((v) => 3 * v)])]) as [
      NoiseComponents,
      NoiseComponents,
    ];
    expectClose([b.white / a.white, b.flicker / a.flicker], [9, 9], { within: 1e-9 });
    // Twice the data: less is left open of the flicker noise.
    expect(a.uncertainty[2]).toBeLessThan(0.9 * estimate(one).uncertainty[2]);
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
    expect(() => estimate(new Float64Array(n).fill(7))).toThrow(/do not vary/);
    expect(
      () => new WhiteFlickerReml(noiseAxes(new Float64Array(7).fill(1), new Float64Array(49), 6, 1)),
    ).toThrow(/too few/);
    const twice = Float64Array.from(reference.slots.flatMap(() => [1, 1]));
    expect(() => new WhiteFlickerReml(noiseAxes(twice, covariance, n, 2))).toThrow(/told apart/);
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
