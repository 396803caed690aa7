import { fail } from '@stillmark/problems';
import type { CovariateToday } from '@stillmark/records';
import { apply, type WindowRange, type Weights } from '../contrast.ts';
import type { Movement } from '../movement.ts';
import type { Adjustment } from '../present.ts';
import { axes, type Axis } from '../topocentric-series.ts';
import { selected, windowsWithin, type WindowSeries } from '../windows.ts';
import { covariateMeans, type Covariate } from './covariate.ts';
import type { ResponseModel } from './fit.ts';

/** Least share of the means of the reference period for which every log must be there (common practice, no source). */
const neededShare = 0.8;

/**
 * A committed response taken off windows: they stand where they would with the logs as they were in the reference period. Windows
 * for which a log is missing are not there.
 */
export class AppliedResponse {
  readonly windows: WindowSeries;
  readonly #model: ResponseModel;
  /** The logs at the windows, a column a log. */
  readonly #logs: readonly Float64Array[];

  /**
   * @throws ESTIMATION_INPUT where a log of the model is not there, or not in the reference period
   */
  constructor(
    windows: WindowSeries,
    reference: { readonly fromMs: number; readonly toMs: number },
    model: ResponseModel,
    covariates: readonly Covariate[],
  ) {
    this.#model = model;
    const centres = windows.slot.map((slot) => (slot + 0.5) * windows.windowMs);
    const all = model.covariates.map(({ sensor, lagMs }) => {
      const covariate = covariates.find((c) => c.sensor === sensor);
      if (!covariate)
        return fail('ESTIMATION_INPUT', `the log ${sensor} of the committed response is not there`);
      // Windows that are longer than the means of the model hold several of them, and the mean of their logs.
      return covariateMeans(covariate.readings, centres, Math.max(model.meansMs, windows.windowMs), lagMs);
    });
    const kept = Array.from(windows.slot.keys()).filter((i) =>
      all.every((values) => !Number.isNaN(values[i]!)),
    );
    const there = selected(windows, kept);
    const logs = all.map((values) => Float64Array.from(kept, (i) => values[i]!));
    const before = windowsWithin(windows, reference.fromMs, reference.toMs);
    const range = windowsWithin(there, reference.fromMs, reference.toMs);
    if (range.to === range.from || range.to - range.from < neededShare * (before.to - before.from))
      fail('ESTIMATION_INPUT', 'the logs of the committed response do not cover the reference period');
    this.#logs = logs.map((values) => {
      const mean = values.subarray(range.from, range.to).reduce((s, v) => s + v, 0) / (range.to - range.from);
      return values.map((v) => v - mean);
    });
    const less = (axis: Axis): Float64Array =>
      there[axis].map((v, i) =>
        model.covariates.reduce((rest, coefficients, j) => rest - coefficients[axis] * this.#logs[j]![i]!, v),
      );
    this.windows = { ...there, east: less('east'), north: less('north'), up: less('up') };
  }

  /** What the uncertainty of the coefficients adds to movements. */
  adjustment(): Adjustment {
    const { covariance, degreesOfFreedom, eastNorth } = this.#model;
    return {
      of: (m, weights, scale) => this.uncertain(m, weights, scale),
      inputs: (windows) => [
        this.#logs.map((log) => log.slice(0, windows)),
        covariance,
        degreesOfFreedom,
        eastNorth,
      ],
    };
  }

  /**
   * A movement that weights on the windows give, with what the uncertainty of the coefficients adds: g' C g with g = w's of each log.
   * Degrees of freedom of the sum by Satterthwaite (1946).
   */
  uncertain(m: Movement, weights: Weights, scale = 1000): Movement {
    const gradient = this.#logs.map((log) => apply(weights, log));
    const q = gradient.length;
    const added = {} as Record<Axis, number>;
    for (const axis of axes) {
      let sum = 0;
      for (let i = 0; i < q; i++)
        for (let j = 0; j < q; j++)
          sum += gradient[i]! * gradient[j]! * this.#model.covariance[axis][i * q + j]!;
      added[axis] = scale * scale * sum;
    }
    const { degreesOfFreedom, eastNorth } = this.#model;
    const freedom = (own: number, known: number, axis: Axis): number =>
      (own + added[axis]) ** 2 / (own ** 2 / known + added[axis] ** 2 / degreesOfFreedom[axis]);
    return {
      ...m,
      ee: m.ee + added.east,
      nn: m.nn + added.north,
      uu: m.uu + added.up,
      en: m.en + eastNorth * Math.sqrt(added.east * added.north),
      horizontalFreedom: Math.min(
        freedom(m.ee, m.horizontalFreedom, 'east'),
        freedom(m.nn, m.horizontalFreedom, 'north'),
      ),
      upFreedom: freedom(m.uu, m.upFreedom, 'up'),
    };
  }

  /** The logs as the model takes them in some windows, against their range in the training span. */
  today({ from, to }: WindowRange, covariates: readonly Covariate[]): CovariateToday[] {
    const { meansMs, covariates: terms } = this.#model;
    return terms.map(({ sensor, lagMs, low, high }, j) => {
      const { readings } = covariates.find((c) => c.sensor === sensor)!;
      const centres = this.windows.slot
        .subarray(from, to)
        .map((slot) => (slot + 0.5) * this.windows.windowMs);
      const values = covariateMeans(readings, centres, meansMs, lagMs);
      const mean = (v: Float64Array): number => v.reduce((s, x) => s + x, 0) / v.length;
      const value = mean(values);
      return {
        sensor,
        value,
        change: mean(this.#logs[j]!.subarray(from, to)),
        extrapolated: value < low || value > high,
      };
    });
  }
}
