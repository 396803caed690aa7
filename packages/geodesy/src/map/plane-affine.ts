import { fail } from '@stillmark/problems';

export type PlanePoint = readonly [x: number, y: number];

/**
 * An affine map of a plane: where the origin goes, and where a unit step along each axis leads from there. Turn, skew, mirror and two
 * scales are all in it.
 */
export interface PlaneAffine {
  readonly origin: PlanePoint;
  readonly x: PlanePoint;
  readonly y: PlanePoint;
}

export function throughAffine({ origin, x, y }: PlaneAffine, [u, v]: PlanePoint): [number, number] {
  return [origin[0] + u * x[0] + v * y[0], origin[1] + u * x[1] + v * y[1]];
}

/** The map that does first `inner` and then `outer`. */
export function composedAffine(outer: PlaneAffine, inner: PlaneAffine): PlaneAffine {
  const step = ([u, v]: PlanePoint): PlanePoint => [
    u * outer.x[0] + v * outer.y[0],
    u * outer.x[1] + v * outer.y[1],
  ];
  return { origin: throughAffine(outer, inner.origin), x: step(inner.x), y: step(inner.y) };
}

/** Signed area of what a unit square becomes; zero where the map has no inverse, negative where it mirrors. */
export function affineDeterminant({ x, y }: PlaneAffine): number {
  return x[0] * y[1] - x[1] * y[0];
}

/** @throws GEODESY_RANGE where the map folds the plane into a line */
export function inverseAffine(map: PlaneAffine): PlaneAffine {
  const { origin, x, y } = map;
  const determinant = affineDeterminant(map);
  if (!Number.isFinite(determinant) || determinant === 0)
    fail('GEODESY_RANGE', 'an affine map with a determinant of zero has no inverse');
  const back: PlaneAffine = {
    origin: [0, 0],
    x: [y[1] / determinant, -x[1] / determinant],
    y: [-y[0] / determinant, x[0] / determinant],
  };
  const [u, v] = throughAffine(back, origin);
  return { ...back, origin: [-u, -v] };
}

/**
 * The affine map that takes points nearest to others by least squares, and the largest distance that it leaves.
 *
 * Reduced to the centroids, the normal equations fall apart into one of two unknowns for each coordinate.
 *
 * @param pairs at least three points that do not lie on one line, each with where it must go
 * @throws GEODESY_RANGE where the points do not span a plane
 */
export function fittedAffine(pairs: readonly (readonly [from: PlanePoint, to: PlanePoint])[]): {
  map: PlaneAffine;
  largest: number;
} {
  const mean = (of: (pair: (typeof pairs)[number]) => number): number =>
    pairs.reduce((sum, pair) => sum + of(pair), 0) / pairs.length;
  const from: PlanePoint = [mean(([a]) => a[0]), mean(([a]) => a[1])];
  const to: PlanePoint = [mean(([, b]) => b[0]), mean(([, b]) => b[1])];
  let [xx, xy, yy] = [0, 0, 0];
  const right: [number, number, number, number] = [0, 0, 0, 0];
  for (const [a, b] of pairs) {
    const [u, v] = [a[0] - from[0], a[1] - from[1]];
    const [p, q] = [b[0] - to[0], b[1] - to[1]];
    xx += u * u;
    xy += u * v;
    yy += v * v;
    right[0] += u * p;
    right[1] += v * p;
    right[2] += u * q;
    right[3] += v * q;
  }
  const determinant = xx * yy - xy * xy;
  if (!(determinant > 1e-12 * xx * yy))
    fail('GEODESY_RANGE', 'points on one line, or fewer than three, do not fix an affine map');
  const solve = (a: number, b: number): PlanePoint => [
    (yy * a - xy * b) / determinant,
    (xx * b - xy * a) / determinant,
  ];
  const [first, second] = [solve(right[0], right[1]), solve(right[2], right[3])];
  const linear: PlaneAffine = { origin: [0, 0], x: [first[0], second[0]], y: [first[1], second[1]] };
  const [u, v] = throughAffine(linear, from);
  const map: PlaneAffine = { ...linear, origin: [to[0] - u, to[1] - v] };
  const largest = pairs.reduce((most, [a, b]) => {
    const [p, q] = throughAffine(map, a);
    return Math.max(most, Math.hypot(p - b[0], q - b[1]));
  }, 0);
  return { map, largest };
}
