export type { CommittedFile } from './committed-file.ts';
export type { Read } from './explain.ts';
export { mapEpoch } from './frames-checks.ts';
export { projectJsonSchema, readProject } from './read.ts';
export { streamOf } from './lines-checks.ts';
export { referencePositions, type Commitment } from './reference-positions.ts';
export { responseModels, type CommittedResponse } from './response-models.ts';
export type { Event, Project, Sensor, Station, Stream } from './schema.ts';
