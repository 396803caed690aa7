export type { Read } from './explain.ts';
export { mapEpoch } from './frames-checks.ts';
export { projectJsonSchema, readProject } from './read.ts';
export { appendCommitment, readReferencePositions, type Commitment } from './reference-positions.ts';
export type { Event, Project, Sensor, Station, Stream } from './schema.ts';
