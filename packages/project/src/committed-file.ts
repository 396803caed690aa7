import { problem, type Problem } from '@stillmark/problems';
import { parseInstant } from '@stillmark/records';
import { stringify } from 'yaml';
import { z } from 'zod';
import { at, readBySchema, type Read } from './explain.ts';
import { parseLocated } from './locate.ts';
import type { Project } from './schema.ts';

export const instantText = z
  .string()
  .refine((text) => parseInstant(text).ok, {
    error: (issue) => `'${String(issue.input)}' is not a date and time with zone`,
  })
  .meta({ title: 'date and time with zone' });

/** Who committed what of which station in which stream, and when. */
export const act = {
  station: z.string().describe('Id of the station.'),
  stream: z.string().describe('Name of the stream.'),
  from: instantText.describe('Begin of the span from which it was committed.'),
  to: instantText.describe('End of that span.'),
  by: z.string().min(1).describe('Who committed it.'),
  committed: instantText.describe('When.'),
  despite: z.string().min(1).optional().describe('Why it was committed although it was not ready.'),
};

/** What was looked at before something was committed. */
export const checksSchema = z.array(
  z.strictObject({
    check: z.string().describe('What was looked at.'),
    verdict: z.enum(['pass', 'not yet', 'fail']).describe('not yet: time will mend it.'),
    value: z.number().optional().describe('What was found.'),
    limit: z.number().describe('What was asked for.'),
    unit: z.string().optional().describe('Unit of both.'),
  }),
);

/** A file to which commitments are only ever added: of one station and stream the last entry counts, the earlier ones are history. */
export interface CommittedFile<T extends { readonly station: string }> {
  /** In the order in which they were made. */
  read(text: string, project: Project, file: string): Read<T[]>;
  /** The file's text with one more entry at its end; comments and earlier entries stay as they are. */
  append(text: string | undefined, entry: T): string;
  readonly schema: z.ZodType;
}

export function committedFile<T extends z.ZodType<{ readonly station: string }>>(
  entry: T,
  { heading, key, what }: { readonly heading: string; readonly key: string; readonly what: string },
): CommittedFile<z.output<T>> {
  const schema = z.strictObject({
    stillmark: z.literal(1).describe('Version of this file format.'),
    [key]: z.array(entry).describe('In the order in which they were committed.'),
  });
  return {
    schema,
    read(text, project, file) {
      const yaml = parseLocated(text, file);
      const read = readBySchema(yaml, schema);
      if (!read.value) return { problems: read.problems };
      const entries = read.value[key] as z.output<T>[];
      const ids = project.stations.map((s) => s.id);
      const unknown = entries.flatMap(({ station }, i): Problem[] =>
        ids.includes(station)
          ? []
          : [
              at(yaml, yaml.locate([key, i, 'station']), (more) =>
                problem('PROJECT_REFERENCE', `${what} is committed for ${station}, which is not a station`, {
                  ...more,
                  allowed: ids,
                }),
              ),
            ],
      );
      return unknown.length > 0 ? { problems: unknown } : { value: entries, problems: [] };
    },
    append(text, added) {
      const start = text ?? `${heading}stillmark: 1\n${key}:\n`;
      const lines = stringify([added], { lineWidth: 0 }).replace(/^(?=.)/gm, '  ');
      return `${start.replace(/\n*$/, '\n')}${lines}`;
    },
  };
}
