export { commit, type CommitTask } from './commit.ts';
export type { Effects, Files, Producer, Renderer } from './effects.ts';
export { check, ingest, type DeliveredFile, type IngestResult } from './ingest.ts';
export { nodeFiles } from './node-files.ts';
export { projectJsonSchema } from '@stillmark/project';
export { snapshot, type SnapshotResult, type SnapshotTask } from './snapshot.ts';
export { computeState } from './state.ts';
export { transform, type StepTaken, type TransformResult, type TransformTask } from './transform.ts';
export { verify } from './verify.ts';
