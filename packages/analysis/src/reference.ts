import type { Geocentric, TopocentricFrame } from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import { dayMs, formatInstant } from '@stillmark/records';
import type { Step } from './ties.ts';
import { windowsWithin, type WindowSeries } from './windows.ts';

/** Shortest reference period: two weeks, so that every satellite has been tracked (common practice, no source). */
export const neededReferenceDays = 14;

/** Least share of the windows of the reference period that must have a solution (common practice, no source). */
export const neededCompleteness = 0.8;

export interface ReferenceEvidence {
  readonly days: number;
  readonly windows: number;
  readonly expectedWindows: number;
  readonly epochs: number;
  readonly position: Geocentric;
  /** Standard deviation of the window solutions, millimetres. */
  readonly scatter_mm: { readonly east: number; readonly north: number; readonly up: number };
}

/**
 * The reference position of a period: the mean of its window solutions, and the evidence for it.
 *
 * @param frame the topocentric axes in which the windows are given
 * @param steps of this station that are no movement
 * @throws REFERENCE_PERIOD where the period holds no window solution, or a step
 */
export function referenceEvidence(
  windows: WindowSeries,
  frame: TopocentricFrame,
  fromMs: number,
  toMs: number,
  steps: readonly Step[] = [],
): ReferenceEvidence {
  const inside = steps.find(({ atMs }) => atMs > fromMs && atMs < toMs);
  if (inside) {
    fail(
      'REFERENCE_PERIOD',
      `the reference period holds a step that is no movement: ${formatInstant(inside.atMs)}, ${inside.what}`,
      { hint: 'a period that lies on one side of it' },
    );
  }
  const { from, to } = windowsWithin(windows, fromMs, toMs);
  const n = to - from;
  if (n === 0) fail('REFERENCE_PERIOD', 'the reference period holds no window solution');
  const mean = (v: Float64Array): number =>
    v.subarray(from, to).reduce((s, x) => s + (x - v[from]!), 0) / n + v[from]!;
  const centre = { east: mean(windows.east), north: mean(windows.north), up: mean(windows.up) };
  const scatter = (v: Float64Array, m: number): number =>
    1000 * Math.sqrt(v.subarray(from, to).reduce((s, x) => s + (x - m) ** 2, 0) / Math.max(1, n - 1));

  const days = (toMs - fromMs) / dayMs;
  const expectedWindows = Math.floor(toMs / windows.windowMs) - Math.ceil(fromMs / windows.windowMs);
  return {
    days,
    windows: n,
    expectedWindows,
    epochs: windows.epochs.subarray(from, to).reduce((s, x) => s + x, 0),
    position: frame.toGeocentric(centre),
    scatter_mm: {
      east: scatter(windows.east, centre.east),
      north: scatter(windows.north, centre.north),
      up: scatter(windows.up, centre.up),
    },
  };
}
