import { z } from 'zod';
import { act, checksSchema, committedFile } from './committed-file.ts';

const commitmentSchema = z.strictObject({
  ...act,
  position: z
    .strictObject({
      x: z.number().describe('X.'),
      y: z.number().describe('Y.'),
      z: z.number().describe('Z.'),
    })
    .describe('The mean of the span: geocentric metres in the frame of the stream.'),
  evidence: z
    .strictObject({
      days: z.number().describe('Length of the span in days.'),
      windows: z.number().int().describe('Windows that have a mean.'),
      expectedWindows: z.number().int().describe('Windows of the span.'),
      epochs: z.number().int().describe('Epochs in them.'),
      scatter_mm: z
        .strictObject({
          east: z.number().describe('East.'),
          north: z.number().describe('North.'),
          up: z.number().describe('Up.'),
        })
        .describe('Standard deviation of the means of windows, millimetres.'),
      /** Older files have none. */
      checks: checksSchema.optional().describe('What the span had to show.'),
      store: z.string().describe('SHA-256 of the epochs up to the end of the span.'),
    })
    .describe('On what it rests.'),
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
