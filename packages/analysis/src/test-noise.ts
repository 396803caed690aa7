/**
 * Truth for tests: white plus flicker noise from a seeded generator, and series of epochs made of it.
 *
 * Written apart from the code under test: the flicker noise is filtered here with the recursion of its definition.
 */

/** A seeded generator of uniform numbers (mulberry32, T. Ettinger, public domain). */
export function uniform(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Standard normal numbers (Box and Muller 1958). */
export function normal(seed: number): () => number {
  const u = uniform(seed);
  return () => Math.sqrt(-2 * Math.log(1 - u())) * Math.cos(2 * Math.PI * u());
}

/** n values of white noise plus fractionally integrated (d = 1/2) noise. */
export function whitePlusFlicker(n: number, white: number, flicker: number, next: () => number): Float64Array {
  const innovations = Float64Array.from({ length: n }, () => flicker * next());
  const h = [1];
  for (let k = 1; k < n; k++) h.push((h[k - 1]! * (k - 0.5)) / k);
  return Float64Array.from({ length: n }, (_, i) => {
    let sum = white * next();
    for (let k = 0; k <= i; k++) sum += h[k]! * innovations[i - k]!;
    return sum;
  });
}
