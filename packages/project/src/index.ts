export type { Read } from './explain.ts';
export { projectJsonSchema, readProject } from './read.ts';
export { appendCommitment, readReferencePositions, type Commitment } from './reference-positions.ts';
export type { Project, Station, Stream } from './schema.ts';
