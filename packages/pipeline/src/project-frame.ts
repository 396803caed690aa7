import {
  decimalYear,
  FrameRegistry,
  toPlateEpoch,
  transformPoints,
  compose,
  type Affine,
} from '@stillmark/geodesy';
import type { Project, Stream } from '@stillmark/project';
import type { EpochSeries } from '@stillmark/records';

/**
 * The positions of a stream in the frame of the project: brought there from the frame in which they were delivered, and those of an
 * absolute stream back to where they would stand on their plate at its epoch. Covariances are turned with them.
 *
 * An absolute position is transformed at the time at which it was observed. The positions of a relative stream have the epoch of the
 * coordinates that are held, whatever the time: they are those coordinates and a vector.
 *
 * @throws GEODESY_FRAME, GEODESY_EPOCH where there is no way; a checked project has one
 */
export function inProjectFrame(
  { transformations, frame }: Project,
  { kind, plate, frame: delivered }: Stream,
  series: EpochSeries,
): EpochSeries {
  if (!plate && !delivered) return series;
  const path = delivered ? new FrameRegistry(transformations).path(delivered.name, frame.name) : undefined;
  const mapAt = (epoch: number | undefined): Affine => {
    const fixed = plate ? toPlateEpoch(plate.model, plate.name, epoch!, plate.epoch) : undefined;
    const moved = path?.at(epoch);
    return moved && fixed ? compose(moved, fixed) : (moved ?? fixed)!;
  };
  const xyz = series.xyz.slice();
  const covariance = series.covariance.slice();
  const epochs =
    kind === 'absolute' ? Float64Array.from(series.timesMs, (ms) => decimalYear(ms)) : delivered?.epoch;
  transformPoints(mapAt, epochs, { xyz, covariance });
  return { ...series, xyz, covariance };
}
