import { fail } from '@stillmark/problems';

/**
 * Points come as X, Y, Z in turn, and results go to an array of the same length.
 *
 * @throws GEODESY_RANGE for an array that is no whole number of points, or where the two differ in length
 */
export function checkTriples(points: Float64Array, out: Float64Array): void {
  if (points.length % 3 !== 0)
    fail('GEODESY_RANGE', `${points.length} numbers are no points`, { hint: 'three numbers for each point' });
  if (out.length !== points.length)
    fail('GEODESY_RANGE', `${out.length} places are no room for ${points.length} numbers`, {
      hint: 'a result of the same length',
    });
}

/** Which point of an array an index belongs to, for a message; nothing where there is only one. */
export function pointName(at: number, length: number): string {
  return length <= 3 ? '' : ` (point ${Math.floor(at / 3) + 1})`;
}
