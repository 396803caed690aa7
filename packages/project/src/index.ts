export { projectJsonSchema, readProject, type Read } from './read.ts';
export { appendCommitment, readReferencePositions, type Commitment } from './reference-positions.ts';
export type { Project, Station, Stream } from './schema.ts';
