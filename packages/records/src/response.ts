import type { CheckRecord } from './over-time.ts';
import type { DisplacementStatement, Instant, RateStatement, Span } from './snapshot.ts';

/** What a log explains of one axis. */
export interface CoefficientRecord {
  /** Millimetres for each unit of the log, and the half-width of its interval. */
  readonly value_mm: number;
  readonly plusMinus_mm: number;
  /** Part of what the other terms leave that it explains, under the noise of the series (partial R2). */
  readonly share: number;
}

/** What a log does to a station. */
export interface CovariateRecord {
  readonly sensor: string;
  readonly what: string;
  readonly unit: string;
  /** By so much the movement follows the log, and the interval of that. */
  readonly lagMs: number;
  readonly lagLowMs: number;
  readonly lagHighMs: number;
  /** Range of the log in the training span. */
  readonly low: number;
  readonly high: number;
  readonly east: CoefficientRecord;
  readonly north: CoefficientRecord;
  readonly up: CoefficientRecord;
  /** Correlation of the estimates of this and of the velocity, the largest of the three axes. */
  readonly withVelocity: number;
  /** Of this and another log. */
  readonly withOthers: readonly { readonly sensor: string; readonly correlation: number }[];
}

/** From the 2.5 to the 97.5 percentile of the daily means about their line, millimetres wide. */
export interface NaturalBand {
  readonly before_mm: number;
  readonly after_mm: number;
}

/** How a station moves with the logs by itself: a committed model, or what a look at the whole series shows. */
export interface ResponseRecord extends Span {
  /** Absent where nothing is committed: then it stands in no figure. */
  readonly commitment?: { readonly by: string; readonly committed: Instant; readonly despite?: string };
  readonly meansMs: number;
  readonly means: number;
  /** Whether waves of the year are fitted beside the logs. */
  readonly seasons: boolean;
  readonly covariates: readonly CovariateRecord[];
  readonly band: Readonly<Record<'east' | 'north' | 'up', NaturalBand>>;
  readonly checks: readonly CheckRecord[];
  /** The displacement less the committed response; absent where it cannot be stated, and `reason` says why. */
  readonly corrected?: CorrectedStatement;
  readonly reason?: string;
}

/** A log today, against the range in which the model was trained. */
export interface CovariateToday {
  readonly sensor: string;
  readonly value: number;
  /** Change since the reference period. */
  readonly change: number;
  readonly extrapolated: boolean;
}

export interface CorrectedStatement extends Pick<
  DisplacementStatement,
  'east_mm' | 'north_mm' | 'up_mm' | 'covariance_mm2' | 'horizontal' | 'up' | 'structure'
> {
  readonly today: readonly CovariateToday[];
  /** Velocity of the whole series less the response, where there is one. */
  readonly velocity?: RateStatement;
}

/** What the filter of repeating multipath gained: one less the part of the windows' scatter within a day that is left. */
export interface SiderealRecord {
  /** From so many days before the pattern is taken. */
  readonly days: number;
  readonly east: number;
  readonly north: number;
  readonly up: number;
}

/** A wave of a period of the sun or the moon. */
export interface WaveRecord {
  /** Darwin's name: S1 (solar day), S2, M2 (lunar half-day), O1. */
  readonly name: 'S1' | 'S2' | 'M2' | 'O1';
  readonly periodMs: number;
  readonly east: WaveComponent;
  readonly north: WaveComponent;
  readonly up: WaveComponent;
}

export interface WaveComponent {
  readonly amplitude_mm: number;
  /** Half-width of the interval along the phase. */
  readonly plusMinus_mm: number;
  /** When it is highest: time after 0 h UTC (of a lunar wave: after 1970), less than a period. */
  readonly peakMs: number;
  /** How probable so large a wave is where there is none. */
  readonly p: number;
}

/** Up of the stations of a stream against their height above the base. */
export interface HeightDependence {
  readonly stream: string;
  readonly stations: number;
  readonly heightSpan_m: number;
  readonly days: number;
  /** Standard deviation of the daily slopes, and of what the stations' own scatter would make of them, mm in 100 m. */
  readonly scatter_mm: number;
  readonly expected_mm: number;
  /** Its yearly wave, mm in 100 m; absent before a year of data. */
  readonly annual?: {
    readonly amplitude_mm: number;
    readonly plusMinus_mm: number;
    readonly peakDay: number;
  };
}

/** Power of the residuals of a trajectory by bands of frequency, and what the fitted noise has on average. */
export interface SpectrumBand {
  /** Periods, days. */
  readonly longest: number;
  readonly shortest: number;
  readonly frequencies: number;
  /** mm2 days, and the interval of the noise behind it. */
  readonly density: number;
  readonly low: number;
  readonly high: number;
  readonly expected: number;
}
