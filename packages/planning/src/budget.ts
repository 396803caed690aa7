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
