import { join } from 'node:path';
import { fail, type Problem } from '@stillmark/problems';
import { compareWithManifest, manifestName, parseManifest, type ManifestEntry } from '@stillmark/snapshot';
import type { Effects } from './effects.ts';
import { sha256 } from './project-folder.ts';

/** Compares every byte of a published snapshot with its manifest: what is changed, missing or added. */
export async function verify(
  folder: string,
  { files }: Effects,
): Promise<{ files: number; problems: Problem[] }> {
  if ((await files.kind(folder)) !== 'folder')
    fail('USE_FOLDER_MISSING', 'there is no such folder', { at: { file: folder } });
  const text = await files.read(join(folder, manifestName));
  if (!text)
    return fail('SNAPSHOT_FORMAT', `the folder has no ${manifestName}`, {
      at: { file: folder },
      hint: 'a folder written by `stillmark snapshot`',
    });
  const manifest = parseManifest(new TextDecoder().decode(text));
  const found: ManifestEntry[] = [];
  for (const path of await files.list(folder)) {
    if (path === manifestName) continue;
    // A link to a folder, or a device that would never end, is none of what was written.
    const bytes =
      (await files.kind(join(folder, path))) === 'file' ? await files.read(join(folder, path)) : undefined;
    found.push({ path, bytes: bytes?.length ?? 0, sha256: bytes ? sha256(bytes) : '' });
  }
  return { files: manifest.length, problems: compareWithManifest(manifest, found) };
}
