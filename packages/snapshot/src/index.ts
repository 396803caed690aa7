export {
  compareWithManifest,
  manifestName,
  parseManifest,
  serialiseManifest,
  type ManifestEntry,
} from './manifest.ts';
export { parseSnapshot, serialiseSnapshot, snapshotJsonSchema, snapshotSchema } from './schema.ts';
export { decodeSeries, encodeSeries } from './series.ts';
