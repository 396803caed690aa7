import { fail } from '@stillmark/problems';
import type { PublishedVersions } from '@stillmark/records';
import { z } from 'zod';
import { count, instant } from './schema-parts.ts';

/** As-of time in UTC to the second, in an order that sorts, and twelve digits of the hash of the manifest. */
export const versionNamePattern = /^\d{8}T\d{6}Z-[0-9a-f]{12}$/;

export const versionsName = 'versions.json';

const version = z
  .strictObject({
    name: z.string().regex(versionNamePattern).describe('Folder beside this file.'),
    project: z.string(),
    timeZone: z.string(),
    asOf: instant,
    validUntil: instant,
    headline: z.string(),
    level: z
      .strictObject({ number: count, names: z.array(z.string()) })
      .exactOptional()
      .describe('The highest level that is reached, 0 where none is; absent where none are set.'),
    manifest: z
      .string()
      .regex(/^[0-9a-f]{64}$/)
      .describe('SHA-256 of its manifest.json.'),
    despite: z
      .string()
      .exactOptional()
      .describe('Why it was published in the place of a later one, or of another project.'),
  })
  // A name leads to a folder that may be taken away: it must be that of its own snapshot.
  .refine(({ name, asOf, manifest }) => name === versionName(asOf, manifest), 'not its name');

const versionsSchema = z
  .strictObject({
    format: z.literal('stillmark-versions'),
    version: z.literal(1),
    latest: z.string().regex(versionNamePattern).describe('What the link latest leads to.'),
    versions: z.array(version),
  })
  .refine(
    ({ versions }) => new Set(versions.map(({ name }) => name)).size === versions.length,
    'a name stands twice',
  );

/** JSON Schema of `versions.json`. */
export function versionsJsonSchema(): object {
  return z.toJSONSchema(versionsSchema);
}

/** Name of the folder of a published snapshot, by its as-of time and the SHA-256 of its manifest. */
export function versionName(asOf: string, manifest: string): string {
  const second = new Date(Date.parse(asOf)).toISOString().replace(/\.\d+Z$/, 'Z');
  return `${second.replace(/[-:]/g, '')}-${manifest.slice(0, 12)}`;
}

/** The text of `versions.json`: what is published, newest first. */
export function serialiseVersions({ latest, versions }: PublishedVersions): string {
  return `${JSON.stringify({ format: 'stillmark-versions', version: 1, latest, versions }, undefined, 1)}\n`;
}

/**
 * @param file where the text stands, for the problem
 * @throws SNAPSHOT_FORMAT where the text is not such a list
 */
export function parseVersions(text: string, file = versionsName): PublishedVersions {
  try {
    const { latest, versions } = versionsSchema.parse(JSON.parse(text));
    return { latest, versions };
  } catch {
    return fail('SNAPSHOT_FORMAT', 'the list of what is published cannot be read', {
      at: { file },
      hint: 'the file as `stillmark publish` wrote it, or another folder',
    });
  }
}
