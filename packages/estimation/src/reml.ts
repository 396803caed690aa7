import { fail } from '@stillmark/problems';
import { multiply, residualProjector, symmetricEigen } from './linear-algebra.ts';

/** Variances of the two noises, in the unit of the observations squared. */
export interface NoiseComponents {
  readonly white: number;
  /** Multiplies the given flicker covariance. */
  readonly flicker: number;
  /** Covariance of the two: var(white), cov, var(flicker). */
  readonly uncertainty: readonly [number, number, number];
  /** Independent standard normal residuals, n - p of them, where the model is true. */
  readonly whitened: Float64Array;
}

/** Axes of the error contrasts of a design in which the covariance of flicker noise is diagonal. */
export interface NoiseAxes {
  /** (n - p) x n, row-major. */
  readonly rotation: Float64Array;
  /** Variance of each error contrast under unit flicker noise. */
  readonly eigenvalues: Float64Array;
}

/**
 * @param design n x p, row-major
 * @param flicker n x n covariance of unit flicker noise at the same observations, row-major
 * @throws ESTIMATION_INPUT for fewer than p + 6 observations, or a design without full rank.
 */
export function noiseAxes(design: Float64Array, flicker: Float64Array, n: number, p: number): NoiseAxes {
  if (n < p + 6) fail('ESTIMATION_INPUT', `${n} observations are too few to learn the noise`);
  const projector = residualProjector(design, n, p);
  const { values, vectors } = symmetricEigen(
    symmetrised(multiply(multiply(projector, flicker, n), projector, n), n),
    n,
  );
  // The p smallest eigenvalues are those of the fitted terms (zero but for rounding).
  return { rotation: vectors.slice(p * n), eigenvalues: values.slice(p) };
}

/**
 * White and flicker variance components of several series with one sampling and one design, by restricted maximum
 * likelihood.
 *
 * The error contrasts of the design are turned to the axes in which the flicker covariance is diagonal; there the
 * restricted likelihood (Patterson and Thompson 1971, Biometrika 58, 545-554) is a sum, its scale has a closed form
 * and one parameter is left, the share of flicker noise between 0 and 1. One eigen-decomposition serves every series.
 */
export class WhiteFlickerReml {
  readonly #rotation: Float64Array;
  readonly #eigenvalues: Float64Array;
  readonly #n: number;

  constructor({ rotation, eigenvalues }: NoiseAxes) {
    this.#n = rotation.length / eigenvalues.length;
    this.#eigenvalues = eigenvalues;
    this.#rotation = rotation;
  }

  /** Numbers that it holds. */
  get size(): number {
    return this.#rotation.length;
  }

  /** Variances of the error contrasts under unit flicker noise. */
  get eigenvalues(): Float64Array {
    return this.#eigenvalues;
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

  /** @throws ESTIMATION_INPUT where the observations of a series do not vary at all */
  stretch(series: readonly Float64Array[]): Stretch {
    return { eigenvalues: this.#eigenvalues, contrasts: series.map((one) => this.contrastsOf(one)) };
  }
}

/** What a stretch of some series says of their noise: their error contrasts, and the variances of those under unit flicker noise. */
export interface Stretch {
  readonly eigenvalues: Float64Array;
  readonly contrasts: readonly Float64Array[];
}

/** The restricted likelihood of series that share the part that flicker noise has in their variance. */
export interface ShareLikelihood {
  /** Twice the negative log likelihood for a share between 0 (white) and 1 (flicker), each series at its best scale. */
  readonly cost: (share: number) => number;
  /** Variances of each series for a share, at its best scale. */
  readonly components: (share: number) => { readonly white: number; readonly flicker: number }[];
  readonly contrasts: readonly Float64Array[];
  readonly eigenvalues: Float64Array;
}

/**
 * Of the same series several stretches may be given, each with the design of its own and the series in the same order: their likelihoods
 * are multiplied, which neglects what the noise of one stretch says of that of another.
 */
export function shareLikelihood(parts: readonly Stretch[]): ShareLikelihood {
  const eigenvalues = Float64Array.from(parts.flatMap((part) => [...part.eigenvalues]));
  const contrasts = parts[0]!.contrasts.map((_, k) =>
    Float64Array.from(parts.flatMap((part) => [...part.contrasts[k]!])),
  );
  const m = eigenvalues.length;
  const mean = eigenvalues.reduce((s, v) => s + v, 0) / m;
  // share: of the average variance, how much is flicker.
  const relative = (share: number, i: number): number => 1 - share + (share * eigenvalues[i]!) / mean;
  const scaleOf = (z: Float64Array, share: number): number => {
    let sum = 0;
    for (let i = 0; i < m; i++) sum += z[i]! ** 2 / relative(share, i);
    return sum / m;
  };
  return {
    eigenvalues,
    contrasts,
    cost: (share) => {
      let sum = 0;
      for (let i = 0; i < m; i++) sum += contrasts.length * Math.log(relative(share, i));
      return contrasts.reduce((total, z) => total + m * Math.log(scaleOf(z, share)), sum);
    },
    components: (share) =>
      contrasts.map((z) => {
        const scale = scaleOf(z, share);
        return { white: scale * (1 - share), flicker: (scale * share) / mean };
      }),
  };
}

const nodes = 200;

/**
 * Components of several series that share one thing, the part that flicker noise has in their variance; each has a size of
 * its own. What little a short period says of that part is then said by all of them.
 *
 * Means over the posterior of the share, uniform before the data, not its likeliest value: of a few weeks the likeliest share is
 * often zero, which would leave differences over a year without the noise that they have. (Scales are at their best for each
 * share, with relative variance 2 / m.)
 */
export function estimateTogether(parts: readonly Stretch[]): NoiseComponents[] {
  const { cost, components, contrasts, eigenvalues } = shareLikelihood(parts);
  // Midpoint rule in the root of the share: fine near zero, where the posterior is steep.
  const grid = Array.from({ length: nodes }, (_, k) => {
    const root = (k + 0.5) / nodes;
    return { at: components(root * root), logDensity: Math.log(2 * root) - cost(root * root) / 2 };
  });
  const largest = grid.reduce((most, { logDensity }) => Math.max(most, logDensity), Number.NEGATIVE_INFINITY);
  const densities = grid.map(({ logDensity }) => Math.exp(logDensity - largest));
  const total = densities.reduce((s, v) => s + v, 0);
  const inflation = 1 + 2 / eigenvalues.length;
  return contrasts.map((z, k) => {
    const mean = (of: (c: { white: number; flicker: number }) => number): number =>
      grid.reduce((s, { at }, i) => s + densities[i]! * of(at[k]!), 0) / total;
    const [white, flicker] = [mean((c) => c.white), mean((c) => c.flicker)];
    return {
      white,
      flicker,
      uncertainty: [
        inflation * mean((c) => c.white ** 2) - white ** 2,
        inflation * mean((c) => c.white * c.flicker) - white * flicker,
        inflation * mean((c) => c.flicker ** 2) - flicker ** 2,
      ],
      whitened: z.map((v, i) => v / Math.sqrt(white + flicker * eigenvalues[i]!)),
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
