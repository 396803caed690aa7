import {
  averagePower,
  fitTrajectories,
  flickerD,
  flickerStepFactor,
  medianTrend,
  PowerLawGls,
  powerLawResponse,
  studentFactor,
  type Estimate,
  type TrajectoryFit,
} from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type AnnualRecord,
  type EventKind,
  type TrajectoryRecord,
  type TrajectoryStep,
} from '@stillmark/records';
import { proposeChanges, type ChangesTask } from './changes.ts';
import type { Movement } from './movement.ts';
import type { JudgedVelocity } from './statements.ts';
import { withoutSteps, type Step } from './ties.ts';
import { axes, type Axis } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

/** A step of the positions at a known time, movement or not. */
export interface KnownStep extends Step {
  readonly kind: EventKind;
}

export interface Trajectory extends Omit<TrajectoryRecord, 'velocity'> {
  readonly velocity: JudgedVelocity;
}

/** Means of whole days: no daily wave is left in them, and years of them are few. */
export const trajectoryWindowMs = dayMs;

/** Shorter spans say too little of noise that lasts (common practice, no source): the rate over the last weeks is told for them. */
const leastDays = 60;
const leastShare = 0.3;
const yearMs = 365.25 * dayMs;
/** A year of data, but for the days that its first and last means lie apart. */
const seasonMs = yearMs - 2 * dayMs;

/**
 * How a station has moved over all its time: x(t) = x0 + v t + a step at each known event + from a year of data on yearly and
 * half-yearly waves, with white and flicker noise learnt from the same series, east and north sharing the part that is flicker
 * noise. Movement that is no straight line and no wave counts as noise, and widens the interval.
 *
 * @param windows means over {@link trajectoryWindowMs}
 * @returns undefined where the span is shorter than two months, mostly empty, or its terms cannot be told apart
 */
export function trajectoryOf(
  windows: WindowSeries,
  events: readonly KnownStep[],
  confidence: number,
): Trajectory | undefined {
  const kept = withoutSteps(windows, events);
  const n = kept.slot.length;
  if (n < 2) return undefined;
  const first = kept.slot[0]!;
  const days = kept.slot[n - 1]! - first + 1;
  if (days < leastDays || n < leastShare * days) return undefined;

  const timeOf = (i: number): number => (kept.slot[i]! + 0.5) * kept.windowMs;
  const middle = (timeOf(0) + timeOf(n - 1)) / 2;
  const steps = events
    .filter(({ atMs }) => atMs > timeOf(0) && atMs < timeOf(n - 1))
    .toSorted((a, b) => a.atMs - b.atMs);
  const seasonal = timeOf(n - 1) - timeOf(0) >= seasonMs;
  const wave = (ms: number, part: number): number => (2 * Math.PI * part * ms) / yearMs;
  const terms: ((ms: number) => number)[] = [
    () => 1,
    (ms) => (ms - middle) / yearMs,
    ...steps.map(
      ({ atMs }) =>
        (ms: number): number =>
          ms >= atMs ? 1 : 0,
    ),
    ...(seasonal
      ? [1, 2].flatMap((part) => [
          (ms: number) => Math.cos(wave(ms, part)),
          (ms: number) => Math.sin(wave(ms, part)),
        ])
      : []),
  ];
  const p = terms.length;
  const design = new Float64Array(n * p);
  for (let i = 0; i < n; i++) terms.forEach((term, j) => (design[i * p + j] = term(timeOf(i))));
  const slots = Int32Array.from(kept.slot, (slot) => slot - first);
  const response = powerLawResponse(days, flickerD);

  const series = axes.map((axis) => centred(kept[axis]));
  // Sums with which the covariance of two axes is made; two waves of one axis are told apart by their own sums.
  const eastAndNorth = series[0]!.map((v, i) => v + series[1]![i]!);
  let fits: TrajectoryFit[];
  try {
    fits = fitTrajectories(
      new PowerLawGls(slots, design, p, response),
      [...series, eastAndNorth],
      [{ of: [0, 1], also: [3] }, { of: [2] }],
      averagePower(slots, response),
    );
  } catch (error) {
    if (error instanceof ProblemError) return undefined;
    throw error;
  }
  const mm = (metres: number): number => 1000 * metres;
  const half = ({ variance, degreesOfFreedom }: Estimate): number =>
    mm(studentFactor(confidence, degreesOfFreedom) * Math.sqrt(variance));
  const of = (axis: Axis): TrajectoryFit => fits[axes.indexOf(axis)]!;

  return {
    windowMs: kept.windowMs,
    windows: n,
    velocity: {
      movement: velocityOf(fits),
      span: {
        from: formatInstant(first * kept.windowMs),
        to: formatInstant((kept.slot[n - 1]! + 1) * kept.windowMs),
      },
    },
    ...robustOf(kept, timeOf, steps, fits),
    ...(seasonal ? { annual: perAxis((axis) => annualOf(of(axis), 2 + steps.length, confidence)) } : {}),
    steps: steps.map(({ atMs, what, kind }, k): TrajectoryStep => {
      const [east, north, up] = axes.map((axis) => of(axis).estimates[2 + k]!) as [
        Estimate,
        Estimate,
        Estimate,
      ];
      return {
        at: formatInstant(atMs),
        what,
        kind,
        east_mm: mm(east.value),
        north_mm: mm(north.value),
        up_mm: mm(up.value),
        eastPlusMinus_mm: half(east),
        northPlusMinus_mm: half(north),
        upPlusMinus_mm: half(up),
      };
    }),
    changes: proposeChanges({
      slots,
      timesMs: Float64Array.from(kept.slot, (_, i) => timeOf(i)),
      design,
      p,
      series: series as unknown as ChangesTask['series'],
      response,
      windowMs: kept.windowMs,
      confidence,
    }),
    noise: perAxis((axis) => {
      const { white, power, share } = of(axis);
      return {
        white_mm: mm(Math.sqrt(white)),
        flicker_mm: mm(Math.sqrt(power)) / flickerStepFactor(kept.windowMs),
        share: share.mean,
        shareLow: share.low,
        shareHigh: share.high,
      };
    }),
  };
}

function perAxis<T>(of: (axis: Axis) => T): Record<Axis, T> {
  return { east: of('east'), north: of('north'), up: of('up') };
}

/** Millimetres a year. */
function velocityOf(fits: readonly TrajectoryFit[]): Movement {
  const [east, north, up, sum] = fits.map(({ estimates }) => estimates[1]!) as [
    Estimate,
    Estimate,
    Estimate,
    Estimate,
  ];
  const square = 1e6;
  // Rounding aside, the correlation lies between -1 and 1.
  const limit = 0.999 * Math.sqrt(east.variance * north.variance);
  const en = (sum.variance - east.variance - north.variance) / 2;
  return {
    east_mm: 1000 * east.value,
    north_mm: 1000 * north.value,
    up_mm: 1000 * up.value,
    ee: square * east.variance,
    nn: square * north.variance,
    uu: square * up.variance,
    en: square * Math.max(-limit, Math.min(limit, en)),
    horizontalFreedom: Math.min(east.degreesOfFreedom, north.degreesOfFreedom),
    upFreedom: up.degreesOfFreedom,
  };
}

function robustOf(
  windows: WindowSeries,
  timeOf: (i: number) => number,
  steps: readonly KnownStep[],
  fits: readonly TrajectoryFit[],
): { robust?: NonNullable<TrajectoryRecord['robust']> } {
  const years = Float64Array.from(windows.slot, (_, i) => timeOf(i) / yearMs);
  try {
    // Steps that are no movement are taken off as fitted: of little more than a year they would span most pairs.
    const untied = (axis: Axis): Float64Array =>
      centred(windows[axis]).map((v, i) =>
        steps.reduce(
          (sum, { kind, atMs }, k) =>
            kind !== 'structural' && timeOf(i) >= atMs
              ? sum - fits[axes.indexOf(axis)]!.estimates[2 + k]!.value
              : sum,
          v,
        ),
      );
    const [east, north, up] = axes.map((axis) => medianTrend(years, untied(axis))) as [
      ReturnType<typeof medianTrend>,
      ReturnType<typeof medianTrend>,
      ReturnType<typeof medianTrend>,
    ];
    return {
      robust: {
        kind: east.kind,
        east_mm: 1000 * east.slope,
        north_mm: 1000 * north.slope,
        up_mm: 1000 * up.slope,
        eastError_mm: 1000 * east.standardError,
        northError_mm: 1000 * north.standardError,
        upError_mm: 1000 * up.standardError,
      },
    };
  } catch (error) {
    if (error instanceof ProblemError) return {};
    throw error;
  }
}

/** The wave a cos + b sin as its amplitude, the interval of that along its phase, and the day on which it is highest. */
function annualOf({ estimates }: TrajectoryFit, at: number, confidence: number): AnnualRecord {
  const [cos, sin] = [estimates[at]!, estimates[at + 1]!];
  const amplitude = Math.hypot(cos.value, sin.value);
  const phase = Math.atan2(sin.value, cos.value);
  // Of the two coefficients, which the waves of whole years leave nearly independent.
  const variance = Math.cos(phase) ** 2 * cos.variance + Math.sin(phase) ** 2 * sin.variance;
  const freedom = Math.min(cos.degreesOfFreedom, sin.degreesOfFreedom);
  const peak = new Date(((phase / (2 * Math.PI) + 1) % 1) * yearMs + Date.UTC(2000, 0, 1) - phaseOrigin);
  const start = Date.UTC(peak.getUTCFullYear(), 0, 1);
  return {
    amplitude_mm: 1000 * amplitude,
    plusMinus_mm: 1000 * studentFactor(confidence, freedom) * Math.sqrt(variance),
    peakDay: Math.floor((peak.getTime() - start) / dayMs) + 1,
  };
}

/** Waves count from 1970 in years of 365.25 days; how far 1 January 2000 lies into one of them. */
const phaseOrigin = Date.UTC(2000, 0, 1) % yearMs;

function centred(values: Float64Array): Float64Array {
  const mean = values.reduce((s, v) => s + (v - values[0]!), 0) / values.length + values[0]!;
  return values.map((v) => v - mean);
}
