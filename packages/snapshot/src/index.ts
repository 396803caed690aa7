export {
  compareWithManifest,
  manifestName,
  parseManifest,
  serialiseManifest,
  type ManifestEntry,
} from './manifest.ts';
export {
  parseVersions,
  serialiseVersions,
  versionName,
  versionsJsonSchema,
  versionsName,
} from './published.ts';
export { parseSnapshot, serialiseSnapshot, snapshotJsonSchema, snapshotSchema } from './schema.ts';
export { leastAndGreatest, levelLengths, levelsOf, levelWithin, type Level } from './levels.ts';
export { decodeReadings, decodeSeries, type SeriesFile, type TimeSpan } from './series-read.ts';
export { encodeEpochs, encodeReadings, encodeSeries } from './series.ts';
export { parseRelease, releaseSchema, serialiseRelease } from './release.ts';
export {
  parseWaiting,
  serialiseWaiting,
  transitionsJsonSchema,
  transitionsSchema,
  type Waiting,
} from './transitions.ts';
