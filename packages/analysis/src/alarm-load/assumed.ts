import { flickerStepFactor, type NoiseComponents } from '@stillmark/estimation';
import type { LoadStation } from './simulate.ts';

/** One sigma of a mean by white noise in metres, and flicker noise in metres per year to the power of one quarter. */
export interface AssumedNoise {
  readonly white: number;
  readonly flicker: number;
}

/** Noise of which nothing is measured yet, as variances of means of one length, taken as known. */
export function assumedNoise(
  { horizontal, up }: { readonly horizontal: AssumedNoise; readonly up: AssumedNoise },
  windowMs: number,
): LoadStation['noise'] {
  const of = ({ white, flicker }: AssumedNoise): NoiseComponents => {
    const variances = [white ** 2, (flicker * flickerStepFactor(windowMs)) ** 2] as const;
    return {
      white: variances[0],
      flicker: variances[1],
      // Some thousands of millions of degrees of freedom.
      uncertainty: [1e-9 * variances[0] ** 2, 0, 1e-9 * variances[1] ** 2],
      whitened: new Float64Array(),
    };
  };
  const plan = of(horizontal);
  return { east: plan, north: plan, up: of(up) };
}
