export type { RejectedRow } from './csv.ts';
export { outlineKinds, readOutline, type OutlineLine } from './outline.ts';
export {
  earliestMs,
  factorsOf,
  farAway,
  largestVariance,
  readPositions,
  type PositionsFile,
  type PositionsTask,
} from './positions.ts';
export { readPoints, type PointsFile, type PointsTask } from './points.ts';
export { readReadings, type ReadingsTask } from './readings.ts';
export { decodeText } from './text.ts';
export { usualDialect, type Dialect } from './dialect.ts';
export { readSinex, type SinexTask } from './sinex.ts';
export { readNmea, type NmeaTask } from './nmea.ts';
