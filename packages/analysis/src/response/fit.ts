import { averagePower, fP, PowerLawGls, studentFactor, type Estimate } from '@stillmark/estimation';
import { fail } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type CheckRecord,
  type CovariateRecord,
  type ResponseRecord,
} from '@stillmark/records';
import { quantileSorted } from 'd3-array';
import {
  eastNorthCorrelation,
  fitModel,
  residualsOf,
  seriesModel,
  yearMs,
  type KnownStep,
  type ModelFits,
  type SeriesModel,
} from '../series-model.ts';
import { withoutSteps } from '../ties.ts';
import { axes, perAxis, type Axis } from '../topocentric-series.ts';
import { selected, type WindowSeries } from '../windows.ts';
import { covariateMeans, type Covariate } from './covariate.ts';

/** Least training span in days, and least share of its means that have every log (common practice, no source). */
export const neededResponseDays = 28;
const neededShare = 0.8;
/** From such a correlation of the estimates on, what a log does cannot be told from a movement that goes on (common practice, no source). */
const confounded = 0.9;
/** Twice the log likelihood may fall by this within the interval of a lag: 95 % of chi-square with one degree of freedom. */
const lagDrop = 3.84;
/** A lag is only told of a log that explains something: chance that one of its lags would, were it without effect (many stations are looked at together). */
const explains = 0.001;
/** A log that varies by less than this part of its size is constant. */
const constant = 1e-6;
/** Waves of the solar day that have terms of their own where means are short enough to show them: a log repeats with the day, and so does multipath. */
const daily = [dayMs, dayMs / 2];
/** The search of lags goes so often through the logs. */
const rounds = 2;

export interface ResponseTask {
  /** Means of the length on which the model rests, of the training span. */
  readonly windows: WindowSeries;
  readonly events: readonly KnownStep[];
  readonly covariates: readonly Covariate[];
  readonly fromMs: number;
  readonly toMs: number;
  /** Waves of the year beside the logs; only for spans of a year and more. */
  readonly seasons: boolean;
  readonly confidence: number;
}

/** Coefficients as a committed model keeps them: metres for a unit of each log. */
export interface ResponseModel {
  readonly covariates: readonly {
    readonly sensor: string;
    readonly lagMs: number;
    readonly low: number;
    readonly high: number;
    readonly east: number;
    readonly north: number;
    readonly up: number;
  }[];
  /** Covariance of the coefficients of each axis, q x q, row-major, square metres, and its degrees of freedom. */
  readonly covariance: Readonly<Record<Axis, readonly number[]>>;
  readonly degreesOfFreedom: Readonly<Record<Axis, number>>;
  /** Correlation of the coefficients of east and north. */
  readonly eastNorth: number;
  readonly meansMs: number;
}

export interface FittedResponse {
  readonly model: ResponseModel;
  readonly record: Omit<ResponseRecord, 'commitment' | 'corrected' | 'reason'>;
}

/**
 * What logs do to a station: x(t) = x0 + v t + steps (+ waves of the year) + sum of c_j s_j(t - lag_j), by generalised least squares
 * under white plus flicker noise that is learnt from the same means. The velocity is a term, so that a movement that goes on is not
 * taken for response as far as the two can be told apart; how far that is, `withVelocity` says. Of means shorter than a day waves of the day
 * and of half of it are terms too: what repeats with the satellites repeats with the warmth of the day, and what warmth does is then told from
 * how one day differs from the next.
 *
 * One lag a log for all three axes, that at which the term explains most, in steps of the length of the means (none where it explains
 * nothing); given the lags, logs
 * are fitted together.
 *
 * @throws ESTIMATION_INPUT where a log is constant or missing, or the terms cannot be told apart
 */
export function fitResponse(task: ResponseTask): FittedResponse {
  const { covariates, seasons, confidence } = task;
  const meansMs = task.windows.windowMs;
  const all = withoutSteps(task.windows, task.events);
  const centres = all.slot.map((slot) => (slot + 0.5) * meansMs);
  const lagsOf = ({ longestLagMs }: Covariate): number[] =>
    Array.from({ length: Math.floor(longestLagMs / meansMs) + 1 }, (_, k) => k * meansMs);
  const byLag = covariates.map((covariate) =>
    lagsOf(covariate).map((lag) => covariateMeans(covariate.readings, centres, meansMs, lag)),
  );
  const kept = Array.from(all.slot.keys()).filter(
    (i) =>
      centres[i]! >= task.fromMs &&
      centres[i]! < task.toMs &&
      byLag.every((lags) => lags.every((v) => !Number.isNaN(v[i]))),
  );
  const expected = Math.max(1, Math.round((task.toMs - task.fromMs) / meansMs));
  const waveTerms = 2 * daily.filter((period) => 3 * meansMs <= period).length;
  const needed = 3 * (3 + waveTerms + covariates.length);
  if (kept.length < needed) {
    const inside = Array.from(centres.keys()).filter(
      (i) => centres[i]! >= task.fromMs && centres[i]! < task.toMs,
    );
    const counts = covariates.map(({ what }, j) => {
      const n = inside.filter((i) => byLag[j]!.every((v) => !Number.isNaN(v[i]))).length;
      return n < inside.length ? ` (${what}: ${n})` : '';
    });
    fail(
      'ESTIMATION_INPUT',
      `${kept.length} means of the span have a position and every log${counts.join('')}, ${needed} are needed`,
    );
  }
  const windows = selected(all, kept);
  const columns = byLag.map((lags) => lags.map((values) => Float64Array.from(kept, (i) => values[i]!)));
  columns.forEach((lags, j) => {
    const [low, high] = rangeOf(lags[0]!);
    if (high - low <= constant * Math.max(Math.abs(low), Math.abs(high)))
      fail('ESTIMATION_INPUT', `the log ${covariates[j]!.what} does not vary in the span`);
  });
  const yearlong = windows.slot.at(-1)! - windows.slot[0]! >= yearMs / meansMs - 2;
  const waves = wavesOf(windows);
  const search = searchLags(windows, task, columns, waves, seasons && yearlong);
  const chosen = columns.map((lags, j) => lags[search[j]!.best]!);
  const model = seriesModel(windows, task.events, {
    seasons: seasons && yearlong,
    more: [...waves, ...chosen],
  });
  const fits = fitModel(model);
  const q = covariates.length;
  const first = model.p - q;
  const factor = (estimate: Estimate): number => studentFactor(confidence, estimate.degreesOfFreedom);
  const residualFreedom = windows.slot.length - model.p;
  const records = covariates.map(({ sensor, what, unit }, j): CovariateRecord => {
    const [low, high] = rangeOf(chosen[j]!);
    const coefficient = (axis: Axis): CovariateRecord['east'] => {
      const estimate = fits[axis].estimates[first + j]!;
      const t2 = estimate.value ** 2 / estimate.variance;
      return {
        value_mm: 1000 * estimate.value,
        plusMinus_mm: 1000 * factor(estimate) * Math.sqrt(estimate.variance),
        share: t2 / (t2 + residualFreedom),
      };
    };
    const correlation = (other: number): number =>
      axes
        .map((axis) => correlationOf(fits[axis], model.p, first + j, other))
        .reduce((a, b) => (Math.abs(b) > Math.abs(a) ? b : a));
    return {
      sensor,
      what,
      unit,
      lagMs: search[j]!.best * meansMs,
      lagLowMs: search[j]!.low * meansMs,
      lagHighMs: search[j]!.high * meansMs,
      low,
      high,
      east: coefficient('east'),
      north: coefficient('north'),
      up: coefficient('up'),
      withVelocity: correlation(1),
      withOthers: covariates.flatMap((other, k) =>
        k === j ? [] : [{ sensor: other.sensor, correlation: correlation(first + k) }],
      ),
    };
  });
  return {
    record: {
      from: formatInstant(task.fromMs),
      to: formatInstant(task.toMs),
      meansMs,
      means: windows.slot.length,
      seasons: seasons && yearlong,
      covariates: records,
      band: bandsOf(model, fits, first),
      checks: checksOf(task, windows.slot.length / expected, records),
    },
    model: {
      meansMs,
      covariates: records.map(({ sensor, lagMs, low, high, east, north, up }) => ({
        sensor,
        lagMs,
        low,
        high,
        east: east.value_mm / 1000,
        north: north.value_mm / 1000,
        up: up.value_mm / 1000,
      })),
      covariance: perAxis((axis) =>
        Array.from({ length: q * q }, (_, k) => {
          const [i, j] = [Math.floor(k / q), k % q];
          return fits[axis].covariance[(first + i) * model.p + first + j]!;
        }),
      ),
      degreesOfFreedom: perAxis((axis) =>
        Math.min(...Array.from({ length: q }, (_, j) => fits[axis].estimates[first + j]!.degreesOfFreedom)),
      ),
      eastNorth: eastNorthCorrelation(fits, first),
    },
  };
}

/** Cosine and sine of each wave of the day of which a mean holds a third at most. */
function wavesOf({ slot, windowMs }: WindowSeries): Float64Array[] {
  return daily
    .filter((period) => 3 * windowMs <= period)
    .flatMap((period) =>
      [Math.cos, Math.sin].map((f) => slot.map((s) => f((2 * Math.PI * (s + 0.5) * windowMs) / period))),
    );
}

interface Lag {
  readonly best: number;
  readonly low: number;
  readonly high: number;
}

/** The lags that explain most, one log after the other with the others as they were found, a few times round. */
function searchLags(
  windows: WindowSeries,
  task: ResponseTask,
  columns: readonly Float64Array[][],
  waves: readonly Float64Array[],
  seasons: boolean,
): Lag[] {
  const found = columns.map((): Lag => ({ best: 0, low: 0, high: 0 }));
  const searched = columns.map((lags, j) => (lags.length > 1 ? j : -1)).filter((j) => j >= 0);
  for (let round = 0; round < rounds; round++)
    for (const j of searched) {
      const others = columns.flatMap((lags, k) => (k === j ? [] : [lags[found[k]!.best]!]));
      const model = seriesModel(windows, task.events, { seasons, more: [...waves, ...others] });
      const fits = fitModel(model);
      const gls = new PowerLawGls(model.slots, model.design, model.p, model.response);
      const unit = averagePower(model.slots, model.response);
      const scan = (share: number, of: readonly Float64Array[]): ReturnType<PowerLawGls['scan']> =>
        gls.scan(1 - share, share / unit, of, columns[j]!);
      const plan = scan(fits.east.share.mean, model.series.slice(0, 2));
      const vertical = scan(fits.up.share.mean, [model.series[2]]);
      const gain = plan.map(({ improvement }, k) =>
        [...improvement, ...vertical[k]!.improvement].reduce((s, v) => s + v, 0),
      );
      const best = gain.indexOf(Math.max(...gain));
      // Where the log explains nothing, no lag is told from another.
      const chance = gain.length * fP(gain[best]! / 3, 3, gls.degreesOfFreedom);
      if (chance > explains) {
        found[j] = { best: 0, low: 0, high: gain.length - 1 };
        continue;
      }
      const possible = gain.flatMap((v, k) => (v > gain[best]! - lagDrop ? [k] : []));
      found[j] = { best, low: Math.min(...possible), high: Math.max(...possible) };
    }
  return found;
}

function checksOf(task: ResponseTask, share: number, covariates: readonly CovariateRecord[]): CheckRecord[] {
  const days = (task.toMs - task.fromMs) / dayMs;
  const young = days < neededResponseDays;
  return [
    { check: 'span', unit: 'd', value: days, limit: neededResponseDays, verdict: young ? 'not yet' : 'pass' },
    {
      check: 'windows',
      unit: '%',
      value: 100 * share,
      limit: 100 * neededShare,
      verdict: share >= neededShare ? 'pass' : young ? 'not yet' : 'fail',
    },
    ...covariates.map(({ what, withVelocity }): CheckRecord => ({
      check: 'confounding',
      of: what,
      unit: '',
      value: Math.abs(withVelocity),
      limit: confounded,
      verdict: Math.abs(withVelocity) <= confounded ? 'pass' : 'not yet',
    })),
    ...covariates.flatMap(({ what, lagMs }, j): CheckRecord[] => {
      const longest =
        Math.floor(task.covariates[j]!.longestLagMs / task.windows.windowMs) * task.windows.windowMs;
      if (longest === 0) return [];
      return [
        {
          check: 'lag',
          of: what,
          unit: 'd',
          value: lagMs / dayMs,
          limit: longest / dayMs,
          verdict: lagMs < longest ? 'pass' : 'fail',
        },
      ];
    }),
  ];
}

/** Width of the middle 95 % about constant, line and steps, with the response in it and without. */
function bandsOf(model: SeriesModel, fits: ModelFits, first: number): ResponseRecord['band'] {
  return perAxis((axis) => {
    const rest = residualsOf(model, fits, axis);
    const before = rest.map((v, i) => {
      let sum = v;
      for (let j = first; j < model.p; j++)
        sum += model.design[i * model.p + j]! * fits[axis].estimates[j]!.value;
      return sum;
    });
    return { before_mm: 1000 * middleWidth(before), after_mm: 1000 * middleWidth(rest) };
  });
}

function middleWidth(values: Float64Array): number {
  const sorted = Array.from(values).sort((a, b) => a - b);
  return quantileSorted(sorted, 0.975)! - quantileSorted(sorted, 0.025)!;
}

function correlationOf(
  { covariance }: { readonly covariance: Float64Array },
  p: number,
  i: number,
  j: number,
): number {
  return covariance[i * p + j]! / Math.sqrt(covariance[i * p + i]! * covariance[j * p + j]!);
}

function rangeOf(values: Float64Array): [number, number] {
  return values.reduce<[number, number]>(
    ([low, high], v) => [Math.min(low, v), Math.max(high, v)],
    [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY],
  );
}
