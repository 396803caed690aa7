import { fail } from '@stillmark/problems';
import { formatInstant, type Span, type StatementSettings } from '@stillmark/records';
import { ReferenceContrast, type WindowRange, type Weights } from './contrast.ts';
import { displacement, movement, type Movement } from './movement.ts';
import { rateNoise, referenceNoise, type StationNoise } from './noise.ts';
import type { Remember } from './remember.ts';
import { leastFreedom, rateUnitDays, type Judged } from './statements.ts';
import { tieSteps, type Step } from './ties.ts';
import { windowsWithin, type WindowSeries } from './windows.ts';

export interface PresentTask {
  readonly reference: { readonly fromMs: number; readonly toMs: number };
  readonly steps: readonly Step[];
  readonly settings: StatementSettings;
  readonly asOfMs: number;
  /** Nothing unless said. */
  readonly adjust?: Adjustment | undefined;
  /** Memory of what was computed from the same inputs before. */
  readonly remember?: Remember | undefined;
}

/** What else is uncertain of a movement that weights give. */
export interface Adjustment {
  readonly of: (m: Movement, weights: Weights, scale?: number) => Movement;
  /** What it hangs on for weights on the first windows; plain data. */
  readonly inputs: (windows: number) => readonly unknown[];
}

export const unadjusted: Adjustment = { of: (m) => m, inputs: () => [] };

export interface Present {
  readonly contrast: ReferenceContrast;
  readonly noise: StationNoise;
  /** The windows of the present. */
  readonly now: WindowRange;
  /** Absent where no window of the present is there. */
  readonly judged?: Judged;
}

/**
 * Where a series stands against its reference period, and how fast it moves: what is judged together with others.
 *
 * @param windows in axes whose origin is the reference position
 * @throws ESTIMATION_INPUT where the reference period is empty, too short or constant, or a step cannot be tied
 */
export function presentOf(task: PresentTask, windows: WindowSeries): Present {
  const { settings, asOfMs, adjust = unadjusted } = task;
  const reference = windowsWithin(windows, task.reference.fromMs, task.reference.toMs);
  const now = presentWindows(windows, asOfMs, settings.statementMs);
  if (reference.to === reference.from)
    fail('ESTIMATION_INPUT', 'the reference period holds no window solution');
  const contrast = new ReferenceContrast(windows, reference, tieSteps(windows, task.steps, reference));
  const noise = referenceNoise(windows, contrast, task.remember);
  if (noise.eastNorth ** 2 > 1 - 1e-9) fail('ESTIMATION_INPUT', 'east and north are copies of each other');
  if (now.to === now.from) return { contrast, noise, now };
  const d = adjust.of(displacement(windows, contrast, noise, now), contrast.tied(contrast.mean(now)));
  if (Math.min(d.horizontalFreedom, d.upFreedom) < leastFreedom)
    fail('ESTIMATION_INPUT', 'the reference period is too short to know the noise');
  const window = {
    ...spanOf(windows, now),
    windows: now.to - now.from,
    epochs: windows.epochs.subarray(now.from, now.to).reduce((s, v) => s + v, 0),
  };
  const rate = rateOf({ ...task, adjust }, windows, contrast);
  return { contrast, noise, now, judged: { displacement: d, window, noise, ...(rate ? { rate } : {}) } };
}

/** The windows of the last `statementMs` before the as-of time, on the grid of the windows. */
function presentWindows(windows: WindowSeries, asOfMs: number, statementMs: number): WindowRange {
  const end = Math.ceil(asOfMs / windows.windowMs) * windows.windowMs;
  return windowsWithin(windows, end - statementMs, end);
}

/** Least share of the windows of a span that must be there for a rate over it (common practice, no source). */
const leastRateShare = 0.7;

/** The slope of the last span, where enough of it lies after the reference period and the noise is known well enough. */
function rateOf(
  { settings, asOfMs, adjust, remember }: Omit<PresentTask, 'adjust'> & { readonly adjust: Adjustment },
  windows: WindowSeries,
  contrast: ReferenceContrast,
): Judged['rate'] {
  const range = presentWindows(windows, asOfMs, settings.rateMs);
  const n = range.to - range.from;
  if (range.from < contrast.reference.to || n < leastRateShare * (settings.rateMs / windows.windowMs))
    return undefined;
  const weights = contrast.tied(contrast.slope(range));
  const scale = 1000 * rateUnitDays;
  const noise = rateNoise(windows, contrast, range, remember);
  const rate = adjust.of(movement(windows, contrast, noise, weights, scale), weights, scale);
  if (rate.horizontalFreedom < leastFreedom) return undefined;
  return { movement: rate, span: spanOf(windows, range) };
}

function spanOf(windows: WindowSeries, { from, to }: WindowRange): Span {
  return {
    from: formatInstant(windows.slot[from]! * windows.windowMs),
    to: formatInstant((windows.slot[to - 1]! + 1) * windows.windowMs),
  };
}
