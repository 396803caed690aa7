import {
  chiSquareQuantile,
  flickerD,
  flickerStepFactor,
  medianTrend,
  noiseDensity,
  periodograms,
  spectralIndex,
  spectrumBands,
  studentFactor,
  type Estimate,
  type SpectralIndex,
  type TrajectoryFit,
} from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type AnnualRecord,
  type SpectrumBand,
  type TrajectoryRecord,
  type TrajectoryStep,
} from '@stillmark/records';
import { proposeChanges } from './changes.ts';
import { chooseCreep, creepRecord, type Creep } from './creep.ts';
import type { Movement } from './movement.ts';
import {
  eastNorthCorrelation,
  fitModel,
  residualsOf,
  seriesModel,
  yearMs,
  type KnownStep,
  type ModelFits,
  type SeriesModel,
} from './series-model.ts';
import type { JudgedVelocity } from './statements.ts';
import { withoutSteps } from './ties.ts';
import { axes, perAxis, type Axis } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

export interface Trajectory extends Omit<TrajectoryRecord, 'velocity'> {
  readonly velocity: JudgedVelocity;
}

/** Means of whole days: no daily wave is left in them, and years of them are few. */
export const trajectoryWindowMs = dayMs;

/** Shorter spans say too little of noise that lasts (common practice, no source): the rate over the last weeks is told for them. */
const leastDays = 60;
const leastShare = 0.3;
/** A year of data, but for the days that its first and last means lie apart. */
const seasonMs = yearMs - 2 * dayMs;

/**
 * How a station has moved over all its time: x(t) = x0 + v t + a step at each known event + from a year of data on yearly and
 * half-yearly waves, with white and flicker noise learnt from the same series, east and north sharing the part that is flicker
 * noise. Movement that is no straight line and no wave counts as noise, and widens the interval.
 *
 * @param windows means over {@link trajectoryWindowMs}
 * @param search whether changes that no event names are looked for
 * @returns undefined where the span is shorter than two months, mostly empty, or its terms cannot be told apart
 */
export function trajectoryOf(
  windows: WindowSeries,
  events: readonly KnownStep[],
  confidence: number,
  search = true,
): Trajectory | undefined {
  const kept = withoutSteps(
    windows,
    events.filter(({ kind }) => kind !== 'note'),
  );
  const n = kept.slot.length;
  if (n < 2) return undefined;
  const first = kept.slot[0]!;
  const days = kept.slot[n - 1]! - first + 1;
  if (days < leastDays || n < leastShare * days) return undefined;

  const seasonal = (kept.slot[n - 1]! - first) * kept.windowMs >= seasonMs;
  let model = seriesModel(kept, events, { seasons: seasonal });
  const { steps } = model;
  let fits: ModelFits;
  let creeps: Creep[];
  try {
    fits = fitModel(model);
    creeps = chooseCreep(model, events);
    if (creeps.length > 0) {
      model = seriesModel(kept, events, { seasons: seasonal, more: creeps.map(({ column }) => column) });
      fits = fitModel(model);
    }
  } catch (error) {
    if (error instanceof ProblemError) return undefined;
    throw error;
  }
  const mm = (metres: number): number => 1000 * metres;
  const half = ({ variance, degreesOfFreedom }: Estimate): number =>
    mm(studentFactor(confidence, degreesOfFreedom) * Math.sqrt(variance));
  const { spectra, index } = spectraOf(model, fits, confidence);
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
    ...robustOf(model, fits),
    ...(seasonal ? { annual: perAxis((axis) => annualOf(fits[axis], 2 + steps.length, confidence)) } : {}),
    steps: steps.map(({ atMs, what, kind }, k): TrajectoryStep => {
      const [east, north, up] = axes.map((axis) => fits[axis].estimates[2 + k]!) as [
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
    creeps: creeps.map((creep, k) => {
      const fitsOf = (column: Float64Array): ModelFits => {
        const more = creeps.map((own, other) => (other === k ? column : own.column));
        return fitModel(seriesModel(kept, events, { seasons: seasonal, more }));
      };
      return creepRecord(creep, fits, model.p - creeps.length + k, fitsOf, confidence);
    }),
    changes: search ? proposeChanges(model, fits, confidence) : [],
    spectrum: spectra,
    noise: perAxis((axis) => {
      const { white, power, share } = fits[axis];
      return {
        white_mm: mm(Math.sqrt(white)),
        flicker_mm: mm(Math.sqrt(power)) / flickerStepFactor(kept.windowMs),
        share: share.mean,
        shareLow: share.low,
        shareHigh: share.high,
        index: index[axis].mean,
        indexLow: index[axis].low,
        indexHigh: index[axis].high,
      };
    }),
  };
}

/** Millimetres a year. */
function velocityOf(fits: ModelFits): Movement {
  const [east, north, up] = axes.map((axis) => fits[axis].estimates[1]!) as [Estimate, Estimate, Estimate];
  const square = 1e6;
  return {
    east_mm: 1000 * east.value,
    north_mm: 1000 * north.value,
    up_mm: 1000 * up.value,
    ee: square * east.variance,
    nn: square * north.variance,
    uu: square * up.variance,
    en: square * eastNorthCorrelation(fits, 1) * Math.sqrt(east.variance * north.variance),
    horizontalFreedom: Math.min(east.degreesOfFreedom, north.degreesOfFreedom),
    upFreedom: up.degreesOfFreedom,
  };
}

/** Bands in an octave of the spectrum. */
const bandsPerOctave = 2;

/** Frequencies below so many cycles in the span are taken by the terms. */
const leastCycles = 3;

/**
 * Power of what the terms leave, by bands of frequency, beside what the fitted noise has there on average, mm2 days; and the index of
 * its slope where that is left open.
 */
function spectraOf(
  model: SeriesModel,
  fits: ModelFits,
  confidence: number,
): { spectra: Record<Axis, SpectrumBand[]>; index: Record<Axis, SpectralIndex> } {
  const { timesMs, windows } = model;
  const days = timesMs.map((ms) => (ms - timesMs[0]!) / dayMs);
  const spacing = windows.windowMs / dayMs;
  const span = days.at(-1)! + spacing;
  const residuals = axes.map((axis) => residualsOf(model, fits, axis).map((v) => 1000 * v));
  const bands = spectrumBands(span, spacing, bandsPerOctave).map((band) => ({
    ...band,
    densities: periodograms(days, residuals, band.frequencies, spacing),
  }));
  const all = bands.flatMap(({ frequencies }) => [...frequencies]);
  const first = all.findIndex((f) => f * span >= leastCycles);
  return {
    index: perAxis((axis) =>
      spectralIndex(
        all.slice(first),
        bands.flatMap(({ densities }) => [...densities[axes.indexOf(axis)]!]).slice(first),
        spacing,
      ),
    ),
    spectra: perAxis((axis) => {
      const { white, power } = fits[axis];
      const noise = { white: 1e6 * white, power: 1e6 * power, d: flickerD };
      return bands.map(({ low, high, frequencies, densities }): SpectrumBand => {
        // Each ordinate has two degrees of freedom of a chi-square.
        const freedom = 2 * frequencies.length;
        const found = mean(densities[axes.indexOf(axis)]!);
        const bound = (part: number): number => (found * freedom) / chiSquareQuantile(part, freedom);
        return {
          longest: 1 / low,
          shortest: 1 / high,
          frequencies: frequencies.length,
          density: found,
          low: bound((1 + confidence) / 2),
          high: bound((1 - confidence) / 2),
          expected: mean(frequencies.map((f) => noiseDensity(noise, f, spacing))),
        };
      });
    }),
  };
}

function mean(values: Float64Array): number {
  return values.reduce((sum, v) => sum + v, 0) / values.length;
}

function robustOf(
  { timesMs, steps, series }: SeriesModel,
  fits: ModelFits,
): { robust?: NonNullable<TrajectoryRecord['robust']> } {
  const years = timesMs.map((ms) => ms / yearMs);
  try {
    // Steps that are no movement are taken off as fitted: of little more than a year they would span most pairs.
    const untied = (axis: Axis): Float64Array =>
      series[axes.indexOf(axis)]!.map((v, i) =>
        steps.reduce(
          (sum, { kind, atMs }, k) =>
            kind !== 'structural' && timesMs[i]! >= atMs ? sum - fits[axis].estimates[2 + k]!.value : sum,
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
export function annualOf({ estimates }: TrajectoryFit, at: number, confidence: number): AnnualRecord {
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
