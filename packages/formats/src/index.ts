export type { RejectedRow } from './csv.ts';
export { readImageHead, type ImageHead } from './image.ts';
export { readMapLayer, type LayerLine } from './map-layer.ts';
export { outlineKinds, readOutline, type OutlineLine } from './outline.ts';
export { earliestMs, farAway, largestVariance } from './plausible.ts';
export { factorsOf, readPositions, type PositionsFile, type PositionsTask } from './positions.ts';
export { readPoints, type PointsFile, type PointsTask } from './points.ts';
export { readReadings, type ReadingsTask } from './readings.ts';
export { decodeText } from './text.ts';
export { usualDialect, type Dialect } from './dialect.ts';
export { readSinex, SinexReader, type SinexTask } from './sinex.ts';
export { NmeaPositions, readNmea, type NmeaTask } from './nmea/positions.ts';
export { NmeaSky } from './nmea/sky.ts';
export { LineSplitter } from './lines.ts';
export { readNavigation, type BroadcastOrbit } from './rinex/navigation.ts';
export { RinexObservations } from './rinex/observation.ts';
export { readYuma } from './yuma.ts';
export { readTestField, type TestFieldRow } from './test-field.ts';
export { readWorldFile } from './world-file.ts';
export { readStationList, type ListedStation } from './station-list.ts';
export {
  bagDeclaration,
  bagInfo,
  bagManifest,
  bagNames,
  checkBagDeclaration,
  payloadFolder,
  payloadOxum,
  readBagInfo,
  readBagManifest,
  unsafeName,
} from './bagit.ts';
