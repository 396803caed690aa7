import { fail } from '@stillmark/problems';
import { checkTriples } from '../arrays.ts';
import { applyAffine, applyToCovariance, type Affine } from './helmert.ts';

/** Coordinates X, Y, Z in turn, metres; and where they are given, their covariances xx, xy, xz, yy, yz, zz in turn. */
export interface Points {
  readonly xyz: Float64Array;
  readonly covariance?: Float64Array;
}

/**
 * Transforms points of which each has its own epoch, in place. The map is made anew only where the epoch changes.
 *
 * @param mapAt the map of coordinates of an epoch, such as `path.at`
 * @param epochs decimal years: one for each point, or one for all; undefined where the map needs none
 * @throws GEODESY_RANGE for arrays that do not belong together, and what `mapAt` throws
 */
export function transformPoints(
  mapAt: (epoch: number | undefined) => Affine,
  epochs: Float64Array | number | undefined,
  { xyz, covariance }: Points,
): void {
  checkTriples(xyz, xyz);
  const n = xyz.length / 3;
  if (covariance && covariance.length !== 6 * n)
    fail('GEODESY_RANGE', `${covariance.length} numbers are no covariances of ${n} points`, {
      hint: 'xx, xy, xz, yy, yz, zz of each point',
    });
  const apply = (map: Affine, from: number, to: number): void => {
    const points = xyz.subarray(3 * from, 3 * to);
    applyAffine(map, points, points);
    if (!covariance) return;
    const matrices = covariance.subarray(6 * from, 6 * to);
    applyToCovariance(map, matrices, matrices);
  };
  if (!(epochs instanceof Float64Array)) return n === 0 ? undefined : apply(mapAt(epochs), 0, n);
  if (epochs.length !== n) fail('GEODESY_RANGE', `${epochs.length} epochs are not those of ${n} points`);
  for (let from = 0, to = 1; from < n; from = to, to++) {
    while (to < n && epochs[to] === epochs[from]) to++;
    apply(mapAt(epochs[from]), from, to);
  }
}
