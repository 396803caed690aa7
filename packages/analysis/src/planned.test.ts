import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { assumedNoise, plannedFigures } from './index.ts';

const hour = 3_600_000;
const settings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 720 * hour,
};
const planned = (white: number, flicker: number, more: Partial<Parameters<typeof plannedFigures>[0]> = {}) =>
  plannedFigures({
    noise: assumedNoise(
      { horizontal: { white, flicker }, up: { white: 2 * white, flicker: 2 * flicker } },
      settings.windowMs,
    ),
    settings,
    referenceMs: 28 * 24 * hour,
    afterMs: 90 * 24 * hour,
    stations: 1,
    ...more,
  });

describe('figures that are planned', () => {
  test('under white noise are those of the textbook (normal quantiles; scipy.stats for the chi-square)', () => {
    const found = planned(0.001, 0);
    // Four means against 112: sigma sqrt(1/4 + 1/112).
    const sigma = Math.sqrt(1 / 4 + 1 / 112);
    expectClose(found.horizontalPlusMinus_mm, 1.959964 * sigma, { within: 1e-4 });
    expectClose(found.upPlusMinus_mm, 2 * 1.959964 * sigma, { within: 1e-4 });
    // Two tests at 0.025: noncentral chi-square with two degrees of freedom, 80 % beyond 7.3778 at 11.4930; one: (2.2414 + 0.8416)^2.
    expectClose(found.horizontalDetectable_mm, Math.sqrt(11.493) * sigma, { within: 2e-3 });
    expectClose(found.upDetectable_mm, 2 * (2.241403 + 0.841621) * sigma, { within: 2e-3 });
  });

  test('grow with lasting noise, with its time, and with the number of stations', () => {
    const quiet = planned(0.001, 0.001);
    expect(planned(0.001, 0.004).upDetectable_mm).toBeGreaterThan(1.5 * quiet.upDetectable_mm);
    expect(planned(0.001, 0.004, { afterMs: 3 * 365 * 24 * hour }).upDetectable_mm).toBeGreaterThan(
      planned(0.001, 0.004).upDetectable_mm,
    );
    const many = planned(0.001, 0.001, { stations: 50 });
    expect(many.upDetectable_mm).toBeGreaterThan(quiet.upDetectable_mm);
    expect(many.upPlusMinus_mm).toBe(quiet.upPlusMinus_mm);
  });
});
