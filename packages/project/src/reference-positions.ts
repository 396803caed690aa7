import { problem } from '@stillmark/problems';
import { parseInstant } from '@stillmark/records';
import { stringify } from 'yaml';
import { z } from 'zod';
import { at, readBySchema, type Read } from './explain.ts';
import { parseLocated } from './locate.ts';
import type { Project } from './schema.ts';

const instantText = z.string().refine((text) => parseInstant(text).ok, {
  error: (issue) => `'${String(issue.input)}' is not a date and time with zone`,
});

const commitmentSchema = z.strictObject({
  station: z.string(),
  stream: z.string(),
  from: instantText,
  to: instantText,
  by: z.string().min(1),
  committed: instantText,
  despite: z.string().min(1).optional(),
  position: z.strictObject({ x: z.number(), y: z.number(), z: z.number() }),
  evidence: z.strictObject({
    days: z.number(),
    windows: z.number().int(),
    expectedWindows: z.number().int(),
    epochs: z.number().int(),
    scatter_mm: z.strictObject({ east: z.number(), north: z.number(), up: z.number() }),
    /** What was looked at before it was committed; older files have none. */
    checks: z
      .array(
        z.strictObject({
          check: z.string(),
          verdict: z.enum(['pass', 'not yet', 'fail']),
          value: z.number().optional(),
          limit: z.number(),
          unit: z.string().optional(),
        }),
      )
      .optional(),
    store: z.string(),
  }),
});

const fileSchema = z.strictObject({ stillmark: z.literal(1), commitments: z.array(commitmentSchema) });

/** One reference position, committed by a person. Geocentric metres in the frame of the stream. */
export type Commitment = z.output<typeof commitmentSchema>;

/**
 * Reads `reference-positions.yaml`: every commitment in the order in which they were made. Of one station and stream
 * the last one counts; the earlier ones are history.
 */
export function readReferencePositions(
  text: string,
  project: Project,
  file = 'reference-positions.yaml',
): Read<Commitment[]> {
  const yaml = parseLocated(text, file);
  const read = readBySchema(yaml, fileSchema);
  if (!read.value) return { problems: read.problems };
  const { commitments } = read.value;
  const unknown = commitments.flatMap((c, i) =>
    project.stations.some((s) => s.id === c.station)
      ? []
      : [
          at(yaml, yaml.locate(['commitments', i, 'station']), (more) =>
            problem(
              'PROJECT_REFERENCE',
              `a reference position is committed for ${c.station}, which is not a station`,
              {
                ...more,
                allowed: project.stations.map((s) => s.id),
              },
            ),
          ),
        ],
  );
  return unknown.length > 0 ? { problems: unknown } : { value: commitments, problems: [] };
}

const heading = `# Reference positions, committed by a person with \`stillmark commit\`.
# Of one station and stream the last entry counts; earlier ones are kept as history.
`;

/** The file's text with one more commitment at its end; comments and earlier entries stay as they are. */
export function appendCommitment(text: string | undefined, commitment: Commitment): string {
  const start = text ?? `${heading}stillmark: 1\ncommitments:\n`;
  const entry = stringify([commitment], { lineWidth: 0 }).replace(/^(?=.)/gm, '  ');
  return `${start.replace(/\n*$/, '\n')}${entry}`;
}
