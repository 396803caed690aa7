import { dayMs } from '@stillmark/records';
import type { ReferenceContrast } from './contrast.ts';
import { windowBands, type WindowBands } from './movement.ts';
import type { StationNoise } from './noise.ts';
import type { Remember } from './remember.ts';
import { windowsWithin, type WindowSeries } from './windows.ts';

/** The last instant of a grid that is not later than the begin of the newest window, which every hour may change. */
export function settledUntil({ slot, windowMs }: WindowSeries, stepMs: number): number {
  return slot.length === 0 ? 0 : Math.floor((slot.at(-1)! * windowMs) / stepMs) * stepMs;
}

/**
 * {@link windowBands}, those of the windows of days before the newest one remembered. They are computed from those windows alone, so
 * that what is remembered cannot hang on anything later.
 */
export function rememberedBands(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  noise: StationNoise,
  confidence: number,
  longitudinal: number | undefined,
  remember: Remember,
): WindowBands {
  const count = windowsWithin(windows, 0, settledUntil(windows, dayMs)).to;
  const settled = contrast.first(count);
  if (!settled) return windowBands(contrast, noise, confidence, longitudinal);
  const { components, eastNorth } = noise;
  const { slot, windowMs } = settled.windows;
  const { reference, ties } = settled.contrast;
  const early = remember(
    'bands',
    [slot, windowMs, reference, ties, components, eastNorth, confidence, longitudinal],
    () => windowBands(settled.contrast, noise, confidence, longitudinal),
  );
  const late = windowBands(contrast, noise, confidence, longitudinal, count);
  const bands = {
    east: joined(early.east, late.east),
    north: joined(early.north, late.north),
    up: joined(early.up, late.up),
  };
  return early.longitudinal && early.transverse && late.longitudinal && late.transverse
    ? {
        ...bands,
        longitudinal: joined(early.longitudinal, late.longitudinal),
        transverse: joined(early.transverse, late.transverse),
      }
    : bands;
}

/** One column behind the other. */
export function joined(a: Float64Array, b: Float64Array): Float64Array {
  const out = new Float64Array(a.length + b.length);
  out.set(a);
  out.set(b, a.length);
  return out;
}
