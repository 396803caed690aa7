import { fail } from '@stillmark/problems';
import { multiply, residualProjector, symmetricEigen } from './linear-algebra.ts';

/** Variances of the two noises, in the unit of the observations squared. */
export interface NoiseComponents {
  readonly white: number;
  /** Multiplies the given flicker covariance. */
  readonly flicker: number;
  /** Covariance of the two estimates: var(white), cov, var(flicker), from the expected information. */
  readonly uncertainty: readonly [number, number, number];
  /** Independent standard normal residuals, n - p of them, where the model is true. */
  readonly whitened: Float64Array;
}

/**
 * White and flicker variance components of several series with one sampling and one design, by restricted maximum
 * likelihood.
 *
 * The error contrasts of the design are turned to the axes in which the flicker covariance is diagonal; there the
 * restricted likelihood (Patterson and Thompson 1971, Biometrika 58, 545-554) is a sum, its scale has a closed form
 * and one parameter is left, the share of flicker noise, searched between 0 and 1. One eigen-decomposition serves
 * every series.
 *
 * @param design n x p, row-major
 * @param flicker n x n covariance of unit flicker noise at the same observations, row-major
 */
export class WhiteFlickerReml {
  readonly #rotation: Float64Array;
  readonly #eigenvalues: Float64Array;
  readonly #n: number;

  /** @throws ESTIMATION_INPUT for fewer than p + 6 observations, or a design without full rank. */
  constructor(design: Float64Array, flicker: Float64Array, n: number, p: number) {
    if (n < p + 6) fail('ESTIMATION_INPUT', `${n} observations are too few to learn the noise`);
    const projector = residualProjector(design, n, p);
    const { values, vectors } = symmetricEigen(
      symmetrised(multiply(multiply(projector, flicker, n), projector, n), n),
      n,
    );
    // The p smallest eigenvalues are those of the fitted terms (zero but for rounding).
    this.#n = n;
    this.#eigenvalues = values.slice(p);
    this.#rotation = vectors.slice(p * n);
  }

  /** Variances of the error contrasts under unit flicker noise. */
  get eigenvalues(): Float64Array {
    return this.#eigenvalues;
  }

  /** @throws ESTIMATION_INPUT where the observations do not vary at all. */
  estimate(observations: Float64Array): NoiseComponents {
    return estimateTogether([{ reml: this, series: [observations] }])[0]!;
  }

  /**
   * The error contrasts of a series in the axes in which the flicker covariance is diagonal.
   *
   * @throws ESTIMATION_INPUT where the observations do not vary at all
   */
  contrastsOf(observations: Float64Array): Float64Array {
    const n = this.#n;
    const m = this.#eigenvalues.length;
    // Centred first: the contrasts do not see the mean, but rounding would.
    const centre = observations.reduce((s, v) => s + v, 0) / n;
    const z = new Float64Array(m);
    for (let i = 0; i < m; i++) {
      let sum = 0;
      for (let k = 0; k < n; k++) sum += this.#rotation[i * n + k]! * (observations[k]! - centre);
      z[i] = sum;
    }
    if (!z.some((v) => Math.abs(v) > 0)) fail('ESTIMATION_INPUT', 'the observations do not vary');
    return z;
  }
}

/**
 * Components of several series that share one thing, the part that flicker noise has in their variance; each has a size of
 * its own. What little a short period says of that part is then said by all of them.
 *
 * Of the same series several stretches may be given, each with the design of its own: their likelihoods are multiplied, which
 * neglects what the noise of one stretch says of that of another.
 *
 * @param parts each with as many series as the others, in the same order
 * @throws ESTIMATION_INPUT where the observations of a series do not vary at all
 */
export function estimateTogether(
  parts: readonly { readonly reml: WhiteFlickerReml; readonly series: readonly Float64Array[] }[],
): NoiseComponents[] {
  const lambda = Float64Array.from(parts.flatMap(({ reml }) => [...reml.eigenvalues]));
  const contrasts = parts[0]!.series.map((_, k) =>
    Float64Array.from(parts.flatMap(({ reml, series }) => [...reml.contrastsOf(series[k]!)])),
  );
  const m = lambda.length;
  const mean = lambda.reduce((s, v) => s + v, 0) / m;
  // share: of the average variance, how much is flicker.
  const relative = (share: number, i: number): number => 1 - share + (share * lambda[i]!) / mean;
  const scaleOf = (z: Float64Array, share: number): number => {
    let sum = 0;
    for (let i = 0; i < m; i++) sum += z[i]! ** 2 / relative(share, i);
    return sum / m;
  };
  const cost = (share: number): number => {
    let sum = 0;
    for (let i = 0; i < m; i++) sum += contrasts.length * Math.log(relative(share, i));
    return contrasts.reduce((total, z) => total + m * Math.log(scaleOf(z, share)), sum);
  };
  const share = minimise(cost, 0, 1);

  // Expected information of log scale and share: m/2, sum(g)/2 and sum(g^2)/2 with g the derivative of log variance by share.
  let g1 = 0;
  let g2 = 0;
  for (let i = 0; i < m; i++) {
    const g = (lambda[i]! / mean - 1) / relative(share, i);
    g1 += g / 2;
    g2 += (g * g) / 2;
  }
  const shareVariance = 1 / (contrasts.length * (g2 - (2 * g1 * g1) / m));
  const slope = -(2 * g1) / m;
  const scaleVariance = 2 / m + slope * slope * shareVariance;
  const scaleShare = slope * shareVariance;
  return contrasts.map((z) => {
    const s = scaleOf(z, share);
    const [white, flicker] = [s * (1 - share), (s * share) / mean];
    // Derivatives of the two by log scale and by share.
    const [ws, wt, fs, ft] = [white, -s, flicker, s / mean];
    const spread = (a1: number, a2: number, b1: number, b2: number): number =>
      a1 * b1 * scaleVariance + (a1 * b2 + a2 * b1) * scaleShare + a2 * b2 * shareVariance;
    return {
      white,
      flicker,
      uncertainty: [spread(ws, wt, ws, wt), spread(ws, wt, fs, ft), spread(fs, ft, fs, ft)],
      whitened: z.map((v, i) => v / Math.sqrt(white + flicker * lambda[i]!)),
    };
  });
}

/**
 * Degrees of freedom of the estimated variance a white + b flicker, by matching its first two moments to a scaled
 * chi-square (Satterthwaite 1946, Biometrics Bulletin 2, 110-114).
 */
export function satterthwaite(
  noise: NoiseComponents,
  a: number,
  b: number,
): { variance: number; degreesOfFreedom: number } {
  const [ww, wf, ff] = noise.uncertainty;
  const variance = a * noise.white + b * noise.flicker;
  const spread = a * a * ww + 2 * a * b * wf + b * b * ff;
  return { variance, degreesOfFreedom: (2 * variance * variance) / spread };
}

function symmetrised(matrix: Float64Array, n: number): Float64Array {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const mean = (matrix[i * n + j]! + matrix[j * n + i]!) / 2;
      matrix[i * n + j] = mean;
      matrix[j * n + i] = mean;
    }
  }
  return matrix;
}

/** Least point of a function on an interval: a grid against local minima, then golden section. */
function minimise(cost: (x: number) => number, from: number, to: number): number {
  const steps = 32;
  let best = from;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i <= steps; i++) {
    const x = from + ((to - from) * i) / steps;
    const value = cost(x);
    if (value < least) [best, least] = [x, value];
  }
  let low = Math.max(from, best - (to - from) / steps);
  let high = Math.min(to, best + (to - from) / steps);
  const golden = (Math.sqrt(5) - 1) / 2;
  for (let i = 0; i < 60; i++) {
    const a = high - golden * (high - low);
    const b = low + golden * (high - low);
    if (cost(a) <= cost(b)) high = b;
    else low = a;
  }
  const middle = (low + high) / 2;
  // The ends belong to the interval: pure white or pure flicker noise are answers.
  return [from, to].reduce((x, end) => (cost(end) < cost(x) ? end : x), middle);
}
