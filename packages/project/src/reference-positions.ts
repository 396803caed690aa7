import { z } from 'zod';
import { act, checksSchema, committedFile } from './committed-file.ts';

const commitmentSchema = z.strictObject({
  ...act,
  position: z.strictObject({ x: z.number(), y: z.number(), z: z.number() }),
  evidence: z.strictObject({
    days: z.number(),
    windows: z.number().int(),
    expectedWindows: z.number().int(),
    epochs: z.number().int(),
    scatter_mm: z.strictObject({ east: z.number(), north: z.number(), up: z.number() }),
    /** Older files have none. */
    checks: checksSchema.optional(),
    store: z.string(),
  }),
});

/** One reference position, committed by a person. Geocentric metres in the frame of the stream. */
export type Commitment = z.output<typeof commitmentSchema>;

/** `reference-positions.yaml`. */
export const referencePositions = committedFile(commitmentSchema, {
  key: 'commitments',
  what: 'a reference position',
  heading: `# Reference positions, committed by a person with \`stillmark commit\`.
# Of one station and stream the last entry counts; earlier ones are kept as history.
`,
});
