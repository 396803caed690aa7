import { decimalYear, plateRotation } from '@stillmark/geodesy';
import type { Stream } from '@stillmark/project';
import type { EpochSeries } from '@stillmark/records';

/**
 * The positions of an absolute stream as they would stand on their plate at its epoch; those of a relative one as they are.
 *
 * X(t0) = X(t) - (t - t0) omega x X(t), see `plateVelocity` of the geodesy room. Covariances are left: the rotation of a plate in a
 * lifetime turns them by less than a ten-millionth.
 *
 * @throws GEODESY_FRAME for a plate that the model does not have
 */
export function plateFixed({ plate }: Stream, series: EpochSeries): EpochSeries {
  if (!plate) return series;
  const [wx, wy, wz] = plateRotation(plate.model, plate.name);
  const { timesMs, xyz } = series;
  const fixed = new Float64Array(xyz.length);
  for (let i = 0; i < timesMs.length; i++) {
    const years = decimalYear(timesMs[i]!) - plate.epoch;
    const [x, y, z] = [xyz[3 * i]!, xyz[3 * i + 1]!, xyz[3 * i + 2]!];
    fixed[3 * i] = x - years * (wy * z - wz * y);
    fixed[3 * i + 1] = y - years * (wz * x - wx * z);
    fixed[3 * i + 2] = z - years * (wx * y - wy * x);
  }
  return { ...series, xyz: fixed };
}
