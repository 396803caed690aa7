export { readPositions, type PositionsFile, type PositionsTask, type RejectedRow } from './positions.ts';
export { decodeText } from './text.ts';
