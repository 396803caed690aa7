import type { SpectrumBand } from './response.ts';
import type { EventKind, Instant, RateStatement, Span } from './snapshot.ts';

export type Constellation = 'GPS' | 'GLONASS' | 'Galileo' | 'BeiDou' | 'QZSS';

/** One piece of evidence for a reference period or a response model: what was found, what is needed, and whether it is. */
export interface CheckRecord {
  readonly check:
    | 'span'
    | 'windows'
    | 'hours'
    | 'cycle'
    | 'satellites'
    | 'settled'
    | 'drift'
    | 'steps'
    | 'bases'
    | 'confounding'
    | 'lag';
  /** Which constellation, direction or log. */
  readonly of?: string;
  readonly unit: string;
  /** Absent where it cannot be told yet. */
  readonly value?: number;
  readonly limit: number;
  /** Of a drift: how probable so large a slope is where nothing moves. */
  readonly p?: number;
  readonly verdict: 'pass' | 'not yet' | 'fail';
}

/** Whether a span of positions can serve as reference period. */
export interface ReadinessRecord extends Span {
  readonly ready: boolean;
  /** When it will be at the earliest, at today's completeness, where time alone is missing. */
  readonly readyAt?: Instant;
  readonly checks: readonly CheckRecord[];
  /** On how many days each of the 24 sidereal hours was observed. */
  readonly hours: readonly number[];
  /** The mean of the period up to the end of each of its days, less that of the whole, millimetres. */
  readonly running: {
    readonly day: readonly number[];
    readonly horizontal_mm: readonly number[];
    readonly up_mm: readonly number[];
  };
}

/** The whole series as a straight line, seasons and steps, with white and flicker noise. */
export interface TrajectoryRecord {
  /** Length of the windows whose means are fitted, and their number. */
  readonly windowMs: number;
  readonly windows: number;
  /** Slope over the whole span, in millimetres a year. */
  readonly velocity: RateStatement;
  /** Medians of the slopes of pairs of means a year apart (or of all pairs), with their standard errors, mm a year. */
  readonly robust?: {
    readonly kind: 'yearly pairs' | 'all pairs';
    readonly east_mm: number;
    readonly north_mm: number;
    readonly up_mm: number;
    readonly eastError_mm: number;
    readonly northError_mm: number;
    readonly upError_mm: number;
  };
  /** Yearly wave of each axis; absent before a year of data. */
  readonly annual?: Record<'east' | 'north' | 'up', AnnualRecord>;
  readonly steps: readonly TrajectoryStep[];
  /** Movements that relax after an event, where the series asks for one. */
  readonly creeps: readonly CreepRecord[];
  /** Changes that no event names; in no figure. */
  readonly changes: readonly ProposedChange[];
  readonly noise: Record<'east' | 'north' | 'up', TrajectoryNoise>;
  /** Of what the terms leave, from long periods to short ones. */
  readonly spectrum: Record<'east' | 'north' | 'up', readonly SpectrumBand[]>;
}

/** A change of the positions that a search found: a step (mm), or another rate from then on (mm a year). */
export interface ProposedChange {
  readonly kind: 'step' | 'rate';
  readonly at: Instant;
  /** Interval of the time. */
  readonly earliest: Instant;
  readonly latest: Instant;
  /** How probable so large a change is anywhere in a series without one. */
  readonly p: number;
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  readonly eastPlusMinus_mm: number;
  readonly northPlusMinus_mm: number;
  readonly upPlusMinus_mm: number;
}

export interface AnnualRecord {
  readonly amplitude_mm: number;
  /** Half-width of the interval of the wave along its phase. */
  readonly plusMinus_mm: number;
  /** Day of the year (1 to 366) on which it is highest. */
  readonly peakDay: number;
}

export interface TrajectoryStep {
  readonly at: Instant;
  readonly what: string;
  readonly kind: EventKind;
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  readonly eastPlusMinus_mm: number;
  readonly northPlusMinus_mm: number;
  readonly upPlusMinus_mm: number;
}

/** A movement that relaxes after an event: 1 - exp(-t / span), or ln(1 + t / span). */
export interface CreepRecord {
  readonly at: Instant;
  readonly what: string;
  readonly kind: 'exponential' | 'logarithmic';
  readonly spanDays: number;
  /** Spans that explain nearly as much. */
  readonly shortestDays: number;
  readonly longestDays: number;
  /** What it came to by the end of the series. */
  readonly east: CreepComponent;
  readonly north: CreepComponent;
  readonly up: CreepComponent;
}

export interface CreepComponent {
  readonly value_mm: number;
  readonly plusMinus_mm: number;
}

export interface TrajectoryNoise {
  readonly white_mm: number;
  /** Millimetres per year to the power of one quarter. */
  readonly flicker_mm: number;
  /** Part of the variance that is flicker noise: mean, and the middle 90 % of what the data leave possible. */
  readonly share: number;
  readonly shareLow: number;
  readonly shareHigh: number;
  /** Spectral index of the part that is no white noise, where it is left open (flicker noise is 1): mean, and the middle 90 %. */
  readonly index: number;
  readonly indexLow: number;
  readonly indexHigh: number;
}

/**
 * A movement that grows faster and faster, as the inverse of its velocity tells it (Fukuzono 1985; Voight 1988): there only where that is
 * significant against a steady one.
 */
export interface AccelerationRecord extends Span {
  /** Of what: across, toward an azimuth, or up and down. */
  readonly axis: 'horizontal' | 'up';
  /** Clockwise from north. */
  readonly azimuthDeg?: number;
  /** Velocities at the begin and at the end of the span, mm in 30 days. */
  readonly first_mm: number;
  readonly last_mm: number;
  /** One-sided, against a steady movement. */
  readonly p: number;
  /** Days from the end of the span until the inverse of the velocity would reach zero if it went on falling as it does. */
  readonly days: number;
  readonly earliestDays: number;
  /** Absent where the data set no end to it. */
  readonly latestDays?: number;
}
