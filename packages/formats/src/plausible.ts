import { covarianceFault, type Geocentric } from '@stillmark/geodesy';
import type { Symmetric3 } from '@stillmark/records';

/** Further than this from its approximate position a station does not stand: unit, order of axes or name are wrong. Metres. */
export const farAway = 100;

/** Square metres: of a metre no processing is content, and millimetres that are told as metres are of that size. */
export const largestVariance = 1;

/** Milliseconds of UTC: earlier than any position that a satellite gave. */
export const earliestMs = Date.UTC(1980, 0, 6);

/** Why a position is not that of a station that stands near a place; undefined where it may be. */
export function placeFault(position: Geocentric, near: Geocentric, station: string): string | undefined {
  const distance = Math.hypot(position.x - near.x, position.y - near.y, position.z - near.z);
  if (distance <= farAway) return undefined;
  const far = distance >= 10_000 ? `${Math.round(distance / 1000)} km` : `${Math.round(distance)} m`;
  return `the position is ${far} from where ${station} stands`;
}

/** Why a covariance is none, or one that no processing can mean. */
export function uncertaintyFault(covariance: Symmetric3): string | undefined {
  return covarianceFault(covariance) ?? implausibleVariance(covariance);
}

/**
 * A variance that no processing can mean: zero is how exports write 'unknown', and would outweigh every other epoch of its
 * window; a metre is how square millimetres look that are taken for square metres.
 */
function implausibleVariance([xx, , , yy, , zz]: Symmetric3): string | undefined {
  if (Math.min(xx, yy, zz) === 0) return 'a variance is zero, which says that the position is known exactly';
  const largest = Math.max(xx, yy, zz);
  if (largest <= largestVariance) return undefined;
  return `a standard deviation of ${Number(Math.sqrt(largest).toPrecision(2))} m is that of no monitoring`;
}
