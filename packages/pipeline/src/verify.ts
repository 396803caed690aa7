import { join } from 'node:path';
import { fail, problem, type Problem } from '@stillmark/problems';
import {
  compareWithManifest,
  manifestName,
  parseManifest,
  serialiseManifest,
  type ManifestEntry,
} from '@stillmark/snapshot';
import { openArchive } from './archive-form.ts';
import { checkBag, measured } from './bag.ts';
import type { Effects, Files } from './effects.ts';

/** Compares every byte of a published snapshot with its manifest, or of an archive with those of its bag: what is changed, missing or added. */
export async function verify(
  path: string,
  { files }: Pick<Effects, 'files'>,
): Promise<{ files: number; problems: Problem[] }> {
  if ((await files.kind(path)) === 'file')
    return { files: (await checkBag(await openArchive(path, files), path)).files.size, problems: [] };
  const { manifest, problems } = await verifyFolder(path, files);
  return { files: manifest.length, problems };
}

/** The files that a snapshot's folder should hold by its manifest, and what differs from it. */
export async function verifyFolder(
  folder: string,
  files: Files,
): Promise<{ manifest: ManifestEntry[]; problems: Problem[] }> {
  if ((await files.kind(folder)) !== 'folder')
    fail('USE_FOLDER_MISSING', 'there is no such folder', { at: { file: folder } });
  const bytes = await files.read(join(folder, manifestName));
  if (!bytes)
    return fail('SNAPSHOT_FORMAT', `the folder has no ${manifestName}`, {
      at: { file: folder },
      hint: 'a folder written by `stillmark snapshot`',
    });
  const text = new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes);
  const manifest = parseManifest(text);
  const found: ManifestEntry[] = [];
  for (const path of await files.list(folder)) {
    if (path === manifestName) continue;
    const place = join(folder, path);
    // A link to a folder, or a device that would never end, is none of what was written.
    const isFile = (await files.kind(place)) === 'file';
    found.push(isFile ? await measured(path, files.stream(place)) : { path, bytes: 0, sha256: '' });
  }
  const problems = compareWithManifest(manifest, found);
  // A byte of it may change without a change of what it says.
  if (text !== serialiseManifest(manifest))
    problems.push(problem('SNAPSHOT_FILE', 'the file is changed', { at: { file: manifestName } }));
  return { manifest, problems };
}
