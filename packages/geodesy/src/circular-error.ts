import { fail } from '@stillmark/problems';
import type { ErrorEllipse } from './covariance.ts';

/**
 * Radius of the circle about the truth that holds a horizontal position with a probability, for a normal distribution with this
 * 1-sigma ellipse: 0.5 gives the circular error probable (CEP), 0.95 the R95 of receiver specifications.
 *
 * The circle's probability is one integral over the half-turns u of the ellipse's parameter,
 * P(r) = mean of 1 - exp(-r^2 / (2 (a^2 cos^2 u + b^2 sin^2 u))) (polar form of the normal distribution, radius integrated exactly;
 * Craig 1991, IEEE MILCOM, has it for the tail), by the trapezoidal rule, which converges geometrically for periodic integrands
 * (Trefethen and Weideman 2014, SIAM Review 56, 385-458). Rules of thumb such as 0.59 (a + b) are not used.
 *
 * @returns in the unit of the ellipse
 * @throws GEODESY_RANGE for a probability that is not between 0 and 1
 */
export function circularErrorRadius({ semiMajor, semiMinor }: ErrorEllipse, probability: number): number {
  if (!(probability > 0 && probability < 1))
    fail('GEODESY_RANGE', `the probability ${probability} is not between 0 and 1`);
  if (semiMajor === 0) return 0;
  const ratio = semiMinor / semiMajor;
  // By what lies outside where that is the smaller part: its last digits would be lost in one minus it.
  const lacking = (radius: number): boolean =>
    probability > 0.5 ? outside(radius, ratio) > 1 - probability : inside(radius, ratio) < probability;
  let [low, high] = [0, 1];
  while (lacking(high)) high *= 2;
  // Bisection to the last bits: the probability is monotone in the radius.
  for (let i = 0; i < 200 && high - low > 1e-15 * high; i++) {
    const middle = (low + high) / 2;
    if (lacking(middle)) low = middle;
    else high = middle;
  }
  return (semiMajor * (low + high)) / 2;
}

/** Nodes of the trapezoidal rule on a quarter turn for an ellipse and a circle of equal size; narrower ones need more. */
const nodes = 128;
const mostNodes = 1 << 18;

/** Mean over the half-turns for semi-axes 1 and b. */
function meanOf(r: number, b: number, of: (exponent: number) => number): number {
  const n = Math.min(mostNodes, Math.ceil(nodes / Math.min(1, Math.max(b, r))));
  let sum = 0;
  for (let k = 0; k < n; k++) {
    const u = (Math.PI * (k + 0.5)) / (2 * n);
    sum += of((-r * r) / (2 * (Math.cos(u) ** 2 + (b * Math.sin(u)) ** 2)));
  }
  return sum / n;
}

const inside = (r: number, b: number): number => meanOf(r, b, (exponent) => -Math.expm1(exponent));
const outside = (r: number, b: number): number => meanOf(r, b, Math.exp);

/** Distance root mean square, sqrt(a^2 + b^2); twice it (2DRMS) holds 95.4 to 98.2 % of positions, depending on the ellipse. */
export function distanceRootMeanSquare({ semiMajor, semiMinor }: ErrorEllipse): number {
  return Math.hypot(semiMajor, semiMinor);
}
