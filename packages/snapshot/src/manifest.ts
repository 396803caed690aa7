import { fail, problem, type Problem } from '@stillmark/problems';
import { z } from 'zod';

/** One file of a published snapshot; `path` with forward slashes, relative to its folder. */
export interface ManifestEntry {
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
}

const manifestSchema = z.strictObject({
  format: z.literal('stillmark-manifest'),
  version: z.literal(1),
  files: z.array(
    z.strictObject({ path: z.string(), bytes: z.number().int().nonnegative(), sha256: z.string() }),
  ),
});

export const manifestName = 'manifest.json';

/** The text of `manifest.json`: every file but itself, in order of path. */
export function serialiseManifest(entries: readonly ManifestEntry[]): string {
  const files = entries.toSorted((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0));
  return `${JSON.stringify({ format: 'stillmark-manifest', version: 1, files }, undefined, 1)}\n`;
}

/** @throws SNAPSHOT_FORMAT where the text is not a manifest */
export function parseManifest(text: string): ManifestEntry[] {
  try {
    return manifestSchema.parse(JSON.parse(text)).files;
  } catch {
    return fail('SNAPSHOT_FORMAT', 'the manifest cannot be read', {
      at: { file: manifestName },
      hint: 'the manifest as it was written',
    });
  }
}

/** What differs between a manifest and the files that are there: changed, missing or added. */
export function compareWithManifest(
  manifest: readonly ManifestEntry[],
  found: readonly ManifestEntry[],
): Problem[] {
  const there = new Map(found.map((entry) => [entry.path, entry]));
  const problems: Problem[] = [];
  const say = (path: string, message: string): number =>
    problems.push(problem('SNAPSHOT_FILE', message, { at: { file: path } }));
  for (const entry of manifest) {
    const now = there.get(entry.path);
    if (!now) say(entry.path, 'the file is missing');
    else if (now.sha256 !== entry.sha256 || now.bytes !== entry.bytes) {
      say(
        entry.path,
        now.bytes === entry.bytes
          ? 'the file is changed'
          : `the file is changed: ${now.bytes} bytes, ${entry.bytes} were written`,
      );
    }
    there.delete(entry.path);
  }
  for (const path of there.keys()) say(path, 'the file was added: it is not in the manifest');
  return problems;
}
