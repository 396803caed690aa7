import type { Problem } from '@stillmark/problems';
import { stringify } from 'yaml';
import { z } from 'zod';
import { instantText } from './committed-file.ts';
import { readBySchema } from './explain.ts';
import { parseLocated } from './locate.ts';
import { text } from './text-schema.ts';

const hash = z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 hash has 64 hexadecimal digits');

const entry = z.strictObject({
  snapshot: hash.describe('SHA-256 of the snapshot.json that was approved.'),
  asOf: instantText.describe('As-of time of that snapshot.'),
  by: text.describe('Who approved it.'),
  at: instantText.describe('When.'),
  comment: text.optional().describe('What they say of it.'),
  file: z
    .string()
    .regex(/^releases\/[\w.-]+\.json$/, 'a file in the folder releases of the project')
    .describe('What was released.'),
  sha256: hash.describe('SHA-256 of that file.'),
});

/** One approval: who released which snapshot, when. */
export type Release = z.output<typeof entry>;

/** Shape of `releases.yaml`. */
export const releasesSchema = z.strictObject({
  stillmark: z.literal(1).describe('Version of this file format.'),
  releases: z.array(entry).describe('In the order in which they were approved.'),
});

const heading = `# Who approved which snapshot for the released site, and when. Only added to, by \`stillmark release\`; the last entry is what the
# released site shows. A withdrawn release is one more entry with an earlier snapshot.
`;

export function readReleases(
  content: string,
  file: string,
): { readonly value?: readonly Release[]; readonly problems: readonly Problem[] } {
  const { value, problems } = readBySchema(parseLocated(content, file), releasesSchema);
  return value ? { value: value.releases, problems } : { problems };
}

/** The file's text with one more entry at its end; what stands there stays as it is. */
export function appendRelease(content: string | undefined, release: Release): string {
  const start = content ?? `${heading}stillmark: 1\nreleases:\n`;
  const lines = stringify([release], { lineWidth: 0 }).replace(/^(?=.)/gm, '  ');
  return `${start.replace(/\n*$/, '\n')}${lines}`;
}
