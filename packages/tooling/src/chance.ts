/** Largest count that a rate of `p` exceeds in `n` trials with a chance of 1 in 10 000 (normal approximation). */
export function mostOf(n: number, p: number): number {
  return n * p + 3.72 * Math.sqrt(n * p * (1 - p));
}
