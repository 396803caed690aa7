import { fP, Whitener } from '@stillmark/estimation';
import { dayMs, formatInstant, type AccelerationRecord } from '@stillmark/records';
import type { ReferenceContrast, WindowRange } from './contrast.ts';
import type { StationNoise } from './noise.ts';
import { rateUnitDays } from './statements.ts';
import type { WindowSeries } from './windows.ts';

export interface AccelerationTask {
  readonly windows: WindowSeries;
  readonly contrast: ReferenceContrast;
  readonly noise: StationNoise;
  /** The windows that are looked at, all of them after the reference period. */
  readonly range: WindowRange;
  /** The direction of the movement in radians clockwise from north, or up and down. */
  readonly along: number | 'up';
  readonly confidence: number;
}

/** So small must the chance of a steady movement be, on one side, before anything is said (common practice, no source). */
export const accelerationSignificance = 0.005;
/** From so long to so short a time left, as shares of the span, is looked. */
const [longest, shortest, tries] = [50, 0.02, 240] as const;

/**
 * Does a movement grow faster and faster? For dv/dt = A v^2 (Fukuzono 1985; Voight 1988, Nature 332, 125-130, alpha = 2) the inverse of
 * the velocity falls on a straight line to zero at tf, and the movement is d(t) = d0 - ln(tf - t) / A. That is fitted to the movement itself
 * by generalised least squares under white and flicker noise, for every tf; a steady movement is tf without end. Inverse velocities need
 * not be formed from noisy differences.
 *
 * @returns undefined where a steady movement explains the span as well
 */
export function accelerationOf(task: AccelerationTask): AccelerationRecord | undefined {
  const { windows, range, contrast } = task;
  const n = range.to - range.from;
  const days = Float64Array.from(
    { length: n },
    (_, i) => ((windows.slot[range.from + i]! - windows.slot[range.from]!) * windows.windowMs) / dayMs,
  );
  const span = days.at(-1)! + windows.windowMs / dayMs;
  const { white, flicker, freedom } = noiseAlong(task);
  const covariance = contrast.flicker(range).map((v) => flicker * v);
  for (let i = 0; i < n; i++) covariance[i * n + i]! += white;
  const whitener = new Whitener(covariance, n);
  const y = whitener.apply(seriesAlong(task));
  const one = whitener.apply(new Float64Array(n).fill(1));
  const fit = (left: number): Fit => fitOf(y, one, whitener.apply(days.map((t) => shape(t, span, left))));
  const steady = fit(Number.POSITIVE_INFINITY);
  const lefts = Array.from(
    { length: tries },
    (_, k) => span * longest * (shortest / longest) ** (k / (tries - 1)),
  );
  const fits = lefts.map((left) => ({ left, ...fit(left) }));
  const best = fits.reduce((a, b) => (b.quadratic < a.quadratic ? b : a));
  const p = fP(Math.max(0, steady.quadratic - best.quadratic), 1, freedom) / 2;
  if (p > accelerationSignificance || best.left === lefts[0]) return undefined;
  const inside = fits.filter(
    ({ quadratic }) => fP(Math.max(0, quadratic - best.quadratic), 1, freedom) > 1 - task.confidence,
  );
  const bounded = fP(Math.max(0, steady.quadratic - best.quadratic), 1, freedom) <= 1 - task.confidence;
  const unit = 1000 * rateUnitDays;
  const { along } = task;
  const first = best.slope * unit;
  return {
    from: formatInstant(windows.slot[range.from]! * windows.windowMs),
    to: formatInstant((windows.slot[range.to - 1]! + 1) * windows.windowMs),
    ...(along === 'up'
      ? { axis: 'up' as const }
      : { axis: 'horizontal' as const, azimuthDeg: ((along * 180) / Math.PI + 360) % 360 }),
    first_mm: first,
    last_mm: (first * (span + best.left)) / best.left,
    p,
    days: best.left,
    earliestDays: Math.min(...inside.map(({ left }) => left)),
    ...(bounded && inside[0]!.left !== lefts[0] ? { latestDays: inside[0]!.left } : {}),
  };
}

/** How the movement grows with time, with slope 1 at the begin: -ln(1 - t / T) T with T the whole time from there to tf. */
function shape(t: number, span: number, left: number): number {
  if (!Number.isFinite(left)) return t;
  const whole = span + left;
  return -whole * Math.log1p(-t / whole);
}

interface Fit {
  readonly quadratic: number;
  /** Metres a day at the begin of the span. */
  readonly slope: number;
}

/** Least squares of whitened observations on a constant and one term. */
function fitOf(y: Float64Array, one: Float64Array, term: Float64Array): Fit {
  let [oo, ot, tt, oy, ty, yy] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < y.length; i++) {
    oo += one[i]! * one[i]!;
    ot += one[i]! * term[i]!;
    tt += term[i]! * term[i]!;
    oy += one[i]! * y[i]!;
    ty += term[i]! * y[i]!;
    yy += y[i]! * y[i]!;
  }
  const determinant = oo * tt - ot * ot;
  const slope = (oo * ty - ot * oy) / determinant;
  const constant = (tt * oy - ot * ty) / determinant;
  return { quadratic: yy - constant * oy - slope * ty, slope };
}

function seriesAlong({ windows, contrast, range, along }: AccelerationTask): Float64Array {
  const of = (axis: 'east' | 'north' | 'up'): Float64Array => {
    const offsets = contrast.offsets(axis);
    return windows[axis].subarray(range.from, range.to).map((v, i) => v - offsets[range.from + i]!);
  };
  if (along === 'up') return of('up');
  const [sin, cos] = [Math.sin(along), Math.cos(along)];
  const north = of('north');
  return of('east').map((e, i) => sin * e + cos * north[i]!);
}

function noiseAlong({ noise: { components: c, eastNorth }, along }: AccelerationTask): {
  white: number;
  flicker: number;
  freedom: number;
} {
  // Degrees of freedom of the whole variance of a window.
  const freedomOf = ({ white, flicker, uncertainty: [ww, wf, ff] }: typeof c.up): number =>
    (2 * (white + flicker) ** 2) / (ww + 2 * wf + ff);
  if (along === 'up') return { white: c.up.white, flicker: c.up.flicker, freedom: freedomOf(c.up) };
  const [sin, cos] = [Math.sin(along), Math.cos(along)];
  const of = (e: number, n: number): number =>
    sin * sin * e + cos * cos * n + 2 * sin * cos * eastNorth * Math.sqrt(e * n);
  return {
    white: of(c.east.white, c.north.white),
    flicker: of(c.east.flicker, c.north.flicker),
    freedom: Math.min(freedomOf(c.east), freedomOf(c.north)),
  };
}
