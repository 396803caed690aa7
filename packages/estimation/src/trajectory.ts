import { fail } from '@stillmark/problems';
import type { GlsFit, PowerLawGls } from './power-law-gls.ts';

/** A coefficient of a trajectory with its variance and the degrees of freedom of that variance. */
export interface Estimate {
  readonly value: number;
  readonly variance: number;
  readonly degreesOfFreedom: number;
}

/** What is learnt of one series. */
export interface TrajectoryFit {
  /** In the order of the terms. */
  readonly estimates: readonly Estimate[];
  /** Covariance of the estimates, p x p, row-major. */
  readonly covariance: Float64Array;
  /** Variances: white noise of one observation, and what multiplies T T'. */
  readonly white: number;
  readonly power: number;
  /** Part of the variance that is power-law noise: its mean, and the middle 90 % of what the data leave possible. */
  readonly share: { readonly mean: number; readonly low: number; readonly high: number };
}

export interface SeriesGroup {
  readonly of: readonly number[];
  readonly also?: readonly number[];
}

/** Chebyshev nodes of the logit of the share; between them everything is interpolated. */
const nodes = 24;
/** Bounds of the logit: a ten-thousandth from none, and from all. */
const bound = 9;
const fine = 400;

/**
 * Trajectories of several series that share one thing, the part that power-law noise has in their variance; each has a scale of its
 * own.
 *
 * The restricted likelihood (Patterson and Thompson 1971) is evaluated at a few shares and interpolated: in the logit of the share it
 * is analytic far beyond the real axis, so that two dozen Chebyshev nodes give it to a thousandth. Estimates and variances are means over
 * the posterior of the share (uniform before the data), not those at its likeliest value, and the spread of the estimates over the
 * shares is part of the variance. Degrees of freedom by matching the first two moments of the variance (Satterthwaite 1946).
 *
 * @param groups which series say the share together, and which follow: theirs is the share of those, and they say nothing of it (sums
 * of others, from which covariances are made)
 * @param unit average of T T' over the observations, so that a share is of the variance
 * @throws ESTIMATION_INPUT where a series does not vary beyond its terms, or the terms cannot be told apart
 */
export function fitTrajectories(
  gls: PowerLawGls,
  series: readonly Float64Array[],
  groups: readonly SeriesGroup[],
  unit: number,
): TrajectoryFit[] {
  const logits = Array.from({ length: nodes }, (_, k) => bound * Math.cos((Math.PI * (k + 0.5)) / nodes));
  const fits = logits.map((logit) => {
    const share = 1 / (1 + Math.exp(-logit));
    return gls.fit(1 - share, share / unit, series);
  });
  const freedom = gls.degreesOfFreedom;
  for (const [k, square] of fits[0]!.squares.entries())
    if (!(square > 0)) fail('ESTIMATION_INPUT', `series ${k + 1} does not vary beyond its terms`);
  const out = new Array<TrajectoryFit>(series.length);
  for (const group of groups) {
    const costs = fits.map((fit) => costOf(fit, group.of, freedom));
    const posterior = posteriorOf(logits, costs);
    for (const k of [...group.of, ...(group.also ?? [])])
      out[k] = momentsOf(fits, k, logits, posterior, freedom, unit);
  }
  return out;
}

/** Twice the negative restricted log likelihood, each series at its best scale. */
function costOf(
  { logDeterminant, logInformation, squares }: GlsFit,
  group: readonly number[],
  freedom: number,
): number {
  return group.reduce((sum, k) => sum + freedom * Math.log(squares[k]!) + logDeterminant + logInformation, 0);
}

interface Posterior {
  readonly logits: Float64Array;
  readonly weights: Float64Array;
}

/** Weights on a fine grid of logits, from the interpolated likelihood and a share that is uniform before the data. */
function posteriorOf(at: readonly number[], costs: readonly number[]): Posterior {
  const logits = Float64Array.from({ length: fine }, (_, i) => -bound + (2 * bound * (i + 0.5)) / fine);
  const least = Math.min(...costs);
  const logDensity = logits.map((u) => {
    // d share / d logit = share (1 - share).
    const prior = -u - 2 * Math.log1p(Math.exp(-u));
    return prior - (interpolate(at, costs, u) - least) / 2;
  });
  const largest = logDensity.reduce((most, v) => Math.max(most, v), Number.NEGATIVE_INFINITY);
  const weights = logDensity.map((v) => Math.exp(v - largest));
  const total = weights.reduce((s, v) => s + v, 0);
  return { logits, weights: weights.map((w) => w / total) };
}

function momentsOf(
  fits: readonly GlsFit[],
  k: number,
  at: readonly number[],
  { logits, weights }: Posterior,
  freedom: number,
  unit: number,
): TrajectoryFit {
  const p = fits[0]!.coefficients[k]!.length;
  const mean = (of: (i: number) => number): number =>
    weights.reduce((sum, w, i) => (w < 1e-12 ? sum : sum + w * of(i)), 0);
  const onGrid = (values: readonly number[]): ((i: number) => number) => {
    const cached = new Float64Array(fine).fill(Number.NaN);
    return (i) => (Number.isNaN(cached[i]!) ? (cached[i] = interpolate(at, values, logits[i]!)) : cached[i]!);
  };
  const scale = onGrid(fits.map(({ squares }) => Math.log(squares[k]! / freedom)));
  const inflation = 1 + 2 / freedom;
  const valueOf = Array.from({ length: p }, (_, j) => onGrid(fits.map((fit) => fit.coefficients[k]![j]!)));
  const estimates = Array.from({ length: p }, (_, j): Estimate => {
    const value = valueOf[j]!;
    const logUnit = onGrid(fits.map(({ covariance }) => Math.log(covariance[j * p + j]!)));
    const centre = mean(value);
    const variance = (i: number): number => Math.exp(scale(i) + logUnit(i)) + (value(i) - centre) ** 2;
    const first = mean(variance);
    const second = inflation * mean((i) => variance(i) ** 2);
    return {
      value: centre,
      variance: first,
      degreesOfFreedom: (2 * first * first) / (second - first * first),
    };
  });
  const covariance = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    covariance[i * p + i] = estimates[i]!.variance;
    for (let j = 0; j < i; j++) {
      const unitCovariance = onGrid(fits.map((fit) => fit.covariance[i * p + j]!));
      covariance[i * p + j] = covariance[j * p + i] = mean(
        (g) =>
          Math.exp(scale(g)) * unitCovariance(g) +
          (valueOf[i]!(g) - estimates[i]!.value) * (valueOf[j]!(g) - estimates[j]!.value),
      );
    }
  }
  const share = (i: number): number => 1 / (1 + Math.exp(-logits[i]!));
  const quantile = (part: number): number => {
    let sum = 0;
    for (let i = 0; i < fine; i++) if ((sum += weights[i]!) >= part) return share(i);
    return 1;
  };
  return {
    estimates,
    covariance,
    white: mean((i) => Math.exp(scale(i)) * (1 - share(i))),
    power: mean((i) => (Math.exp(scale(i)) * share(i)) / unit),
    share: { mean: mean(share), low: quantile(0.05), high: quantile(0.95) },
  };
}

/** Barycentric interpolation at the Chebyshev nodes of the first kind (Berrut and Trefethen 2004, SIAM Review 46, 501-517). */
function interpolate(at: readonly number[], values: readonly number[], x: number): number {
  let numerator = 0;
  let denominator = 0;
  for (let k = 0; k < nodes; k++) {
    const difference = x - at[k]!;
    if (difference === 0) return values[k]!;
    const weight = ((k % 2 === 0 ? 1 : -1) * Math.sin((Math.PI * (k + 0.5)) / nodes)) / difference;
    numerator += weight * values[k]!;
    denominator += weight;
  }
  return numerator / denominator;
}

/** Average variance that unit power-law noise shows about its mean over some places of a grid: tr((I - 11'/n) T T') / (n - 1). */
export function averagePower(slots: Int32Array, response: Float64Array): number {
  const n = slots.length;
  const first = slots[0] ?? 0;
  const length = (slots[n - 1] ?? 0) - first + 1;
  let trace = 0;
  const squares = new Float64Array(length);
  for (let i = 0, sum = 0; i < length; i++) squares[i] = sum += response[i]! * response[i]!;
  const column = new Float64Array(length);
  for (const slot of slots) {
    const s = slot - first;
    trace += squares[s]!;
    for (let j = 0; j <= s; j++) column[j]! += response[s - j]!;
  }
  const sum = column.reduce((total, v) => total + v * v, 0);
  return (trace - sum / n) / (n - 1);
}
