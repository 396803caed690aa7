import chisquareQuantile from '@stdlib/stats-base-dists-chisquare-quantile';
import fCdf from '@stdlib/stats-base-dists-f-cdf';
import fQuantile from '@stdlib/stats-base-dists-f-quantile';
import tCdf from '@stdlib/stats-base-dists-t-cdf';
import tQuantile from '@stdlib/stats-base-dists-t-quantile';
import { fail } from '@stillmark/problems';

/**
 * Factor by which a 1-sigma figure of `dimension` axes grows to hold the truth with probability `confidence`, the
 * variance being known: the root of the chi-square quantile (2.4477 for 95 % in two dimensions).
 */
export function confidenceFactor(dimension: number, confidence: number): number {
  checkProbability(confidence);
  return Math.sqrt(chisquareQuantile(confidence, dimension));
}

/**
 * The same factor where the variance is estimated with `degreesOfFreedom`: sqrt(dimension * F quantile)
 * (4.3708 for 95 %, two dimensions, three degrees of freedom).
 */
export function confidenceFactorEstimated(
  dimension: number,
  confidence: number,
  degreesOfFreedom: number,
): number {
  checkProbability(confidence);
  return Math.sqrt(dimension * fQuantile(confidence, dimension, degreesOfFreedom));
}

/** Probability of an F statistic at least as large, where nothing moved. */
export function fP(statistic: number, dimension: number, degreesOfFreedom: number): number {
  return 1 - fCdf(statistic, dimension, degreesOfFreedom);
}

/** Two-sided p-value of Student's t. */
export function studentP(t: number, degreesOfFreedom: number): number {
  return 2 * tCdf(-Math.abs(t), degreesOfFreedom);
}

/** Half-width factor of a two-sided interval from Student's t. */
export function studentFactor(confidence: number, degreesOfFreedom: number): number {
  checkProbability(confidence);
  return tQuantile((1 + confidence) / 2, degreesOfFreedom);
}

/**
 * The noncentrality that an F test with `dimension` and `second` degrees of freedom at `significance` finds with
 * probability `power`: its root is the smallest movement found, in units of sigma, in the direction of movement.
 *
 * The distribution of the statistic is the Poisson mixture of central beta distributions (Johnson, Kotz and
 * Balakrishnan 1995, Continuous Univariate Distributions 2, equation 30.10).
 */
export function detectableNoncentrality(
  significance: number,
  power: number,
  dimension: number,
  second: number,
): number {
  checkProbability(significance);
  checkProbability(power);
  const critical = fQuantile(1 - significance, dimension, second);
  // The parts of the mixture are the same for every noncentrality.
  const parts = centralTails(critical, dimension, second);
  const lacking = (noncentrality: number): number => mixture(parts, noncentrality) - power;
  let low = 0;
  let high = 8;
  let atLow = lacking(low);
  let atHigh = lacking(high);
  while (atHigh < 0) {
    [low, atLow] = [high, atHigh];
    high *= 2;
    if (high > 1e9) fail('ESTIMATION_INPUT', `no movement is found with power ${power}`);
    atHigh = lacking(high);
  }
  // Regula falsi with the Illinois correction (Dowell and Jarratt 1971): the bracket never opens.
  for (let i = 0; i < 100 && high - low > 1e-12 * high; i++) {
    const x = high - (atHigh * (high - low)) / (atHigh - atLow);
    const y = lacking(x);
    if (Math.abs(y) < 1e-14) return x;
    if (y * atHigh < 0) [low, atLow] = [high, atHigh];
    else atLow /= 2;
    [high, atHigh] = [x, y];
    if (low > high) [low, atLow, high, atHigh] = [high, atHigh, low, atLow];
  }
  return high;
}

/** P(F' > f) for the noncentral F distribution; see {@link detectableNoncentrality} for the source. */
export function noncentralFUpper(f: number, d1: number, d2: number, noncentrality: number): number {
  return mixture(centralTails(f, d1, d2), noncentrality);
}

/** P(F > f) of each part of the mixture, each computed once: a central F with d1 + 2j degrees of freedom holds x = f d1 / (d1 + 2j). */
function centralTails(f: number, d1: number, d2: number): (j: number) => number {
  const known: number[] = [];
  return (j) => (known[j] ??= 1 - fCdf((f * d1) / (d1 + 2 * j), d1 + 2 * j, d2));
}

function mixture(central: (j: number) => number, noncentrality: number): number {
  const mean = noncentrality / 2;
  // Poisson weights outward from the heaviest, which alone is computed in logarithms, until they no longer count.
  const start = Math.floor(mean);
  const heaviest = mean === 0 ? 1 : Math.exp(-mean + start * Math.log(mean) - logFactorial(start));
  let sum = 0;
  for (let j = start, weight = heaviest; j >= 0 && weight > 1e-17; weight *= j / mean, j--)
    sum += weight * central(j);
  for (let j = start + 1, weight = (heaviest * mean) / j; weight > 1e-17; j++, weight *= mean / j)
    sum += weight * central(j);
  return sum;
}

function logFactorial(n: number): number {
  let sum = 0;
  for (let i = 2; i <= n; i++) sum += Math.log(i);
  return sum;
}

function checkProbability(p: number): void {
  if (!(p > 0 && p < 1)) fail('ESTIMATION_INPUT', `a probability lies between 0 and 1, not ${p}`);
}

/** The value below which a chi-square of `degreesOfFreedom` lies with probability `part`. */
export function chiSquareQuantile(part: number, degreesOfFreedom: number): number {
  checkProbability(part);
  return chisquareQuantile(part, degreesOfFreedom);
}
