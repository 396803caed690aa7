import { basename, dirname, join, resolve } from 'node:path';
import { fail } from '@stillmark/problems';
import { manifestName, serialiseManifest } from '@stillmark/snapshot';
import type { Files } from './effects.ts';
import { sha256 } from './project-folder.ts';

/**
 * Puts files into a folder whole or not at all: written beside it with their manifest, then moved into place.
 *
 * A folder that stands there is replaced only where it is a snapshot (or empty). Between taking the old one away and
 * putting the new one there lie two renames; a command stopped just there leaves the old one beside its place, and the
 * next command puts it back first.
 *
 * @throws USE_OUTPUT_TAKEN where something else stands at the place
 */
export async function putFolder(
  out: string,
  contents: ReadonlyMap<string, Uint8Array>,
  files: Files,
): Promise<void> {
  const place = resolve(out);
  const beside = (what: string): string => join(dirname(place), `.${basename(place)}.${what}`);
  const [partial, previous] = [beside('partial'), beside('previous')];
  if ((await files.kind(previous)) === 'folder' && (await files.kind(place)) === 'nothing')
    await files.rename(previous, place);
  const replaces = await mayReplace(place, files);

  await files.remove(partial);
  const entries = [];
  for (const [path, bytes] of contents) {
    await files.write(join(partial, path), bytes);
    entries.push({ path, bytes: bytes.length, sha256: sha256(bytes) });
  }
  await files.write(join(partial, manifestName), serialiseManifest(entries));

  await files.remove(previous);
  if (replaces) await files.rename(place, previous);
  await files.rename(partial, place);
  await files.remove(previous);
}

async function mayReplace(place: string, files: Files): Promise<boolean> {
  const kind = await files.kind(place);
  if (kind === 'nothing') return false;
  const isSnapshot =
    kind === 'folder' &&
    ((await files.kind(join(place, manifestName))) === 'file' || (await files.list(place)).length === 0);
  if (!isSnapshot) {
    fail('USE_OUTPUT_TAKEN', 'the output folder holds something that is not a snapshot; it was not touched', {
      at: { file: place },
      hint: 'a folder that does not exist yet, or an earlier snapshot',
    });
  }
  return true;
}
