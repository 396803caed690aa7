import { chiSquareQuantile } from '@stillmark/estimation';
import type { PrecisionBudget } from '@stillmark/records';

/** A manufacturer's figure: one sigma of a single solution, as a constant and a part that grows with the baseline. */
export interface SpecifiedPrecision {
  readonly mm: number;
  readonly ppm: number;
}

/**
 * Precision to be expected from a receiver's specification over a baseline: mm + ppm x length.
 *
 * The two parts add, as the figure is written. It is one sigma of one solution and does not shrink with the root of
 * their number: what repeats from day to day (multipath, antenna, troposphere) does not average out (common practice, no source).
 */
export function precisionBudget(
  receiver: {
    readonly horizontal: SpecifiedPrecision;
    readonly up: SpecifiedPrecision;
    readonly source: string;
  },
  baselineLength_m: number,
): PrecisionBudget {
  const sigma = ({ mm, ppm }: SpecifiedPrecision): number => mm + (ppm * baselineLength_m) / 1000;
  return { horizontal_mm: sigma(receiver.horizontal), up_mm: sigma(receiver.up), source: receiver.source };
}

/** A half-width horizontally and up or down, in one unit. */
export interface HalfWidths {
  readonly horizontal: number;
  readonly up: number;
}

/**
 * Half-widths that a position must have for a movement to be told: a third of it (EM 1110-2-1009, ch. 2, asks it of the largest movement that is
 * expected, at 95 %; from memory).
 */
export function askedOfMovement({ horizontal, up }: HalfWidths): HalfWidths {
  return { horizontal: horizontal / 3, up: up / 3 };
}

/**
 * What one solution of a specified precision is good for, and how many times better that is than asked, the lesser of both.
 *
 * A specification is taken as one sigma of each axis: circle and interval that hold the truth with the probability have half-widths of the root
 * of the quantile of chi-square with two degrees of freedom and with one. Where a maker's figure is of both axes together that is a factor of
 * up to 1.4 on the safe side.
 */
export function specificationMargin(
  budget: Pick<PrecisionBudget, 'horizontal_mm' | 'up_mm'>,
  asked_mm: HalfWidths,
  confidence: number,
): { halfWidths_mm: HalfWidths; margin: number } {
  const horizontal = budget.horizontal_mm * Math.sqrt(chiSquareQuantile(confidence, 2));
  const up = budget.up_mm * Math.sqrt(chiSquareQuantile(confidence, 1));
  return {
    halfWidths_mm: { horizontal, up },
    margin: Math.min(asked_mm.horizontal / horizontal, asked_mm.up / up),
  };
}

/** How many times as large the half-axes of an ellipse are as the half-widths of its axes alone, at the same probability: 1.249 at 95 %. */
export function ellipseOverInterval(confidence: number): number {
  return Math.sqrt(chiSquareQuantile(confidence, 2) / chiSquareQuantile(confidence, 1));
}
