import { basename, dirname, join } from 'node:path';
import { fail, ProblemError } from '@stillmark/problems';
import { withLock } from '@stillmark/store';
import { manifestName, parseManifest, serialiseManifest } from '@stillmark/snapshot';
import type { Files } from './effects.ts';
import { sha256 } from './project-folder.ts';
import { severalAtOnce } from './several.ts';

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
  const { place, beside: besideIt } = await placeOf(out, files);
  const [partial, previous] = [besideIt('partial'), besideIt('previous')];
  await withLock(besideIt('lock'), 'output folder', () =>
    replace({ place, partial, previous }, contents, files),
  );
}

/**
 * Where a folder is to be put, and paths beside it, on the same disk. A link keeps standing: what it leads to is the place.
 *
 * @throws USE_OUTPUT_TAKEN, USE_FOLDER_MISSING
 */
export async function placeOf(
  out: string,
  files: Files,
): Promise<{ place: string; beside: (what: string) => string }> {
  if ((await files.kind(out)) === 'dangling link')
    fail('USE_OUTPUT_TAKEN', 'the output folder is a link that leads to nothing', {
      at: { file: out },
      hint: 'a folder, or a link to one that exists',
    });
  const place = await files.resolve(out);
  if ((await files.kind(dirname(place))) !== 'folder')
    fail('USE_FOLDER_MISSING', 'the folder that is to hold the output does not exist', {
      at: { file: dirname(place) },
    });
  return { place, beside: (what) => beside(place, what) };
}

/** A working file or folder of ours beside a place. */
export function beside(place: string, what: string): string {
  return join(dirname(place), `.${basename(place)}.stillmark-${what}`);
}

async function replace(
  {
    place,
    partial,
    previous,
  }: { readonly place: string; readonly partial: string; readonly previous: string },
  contents: ReadonlyMap<string, Uint8Array>,
  files: Files,
): Promise<void> {
  if ((await files.kind(previous)) === 'folder' && (await files.kind(place)) === 'nothing')
    await files.rename(previous, place);
  const replaces = await mayReplace(place, files);

  await files.remove(partial);
  try {
    await severalAtOnce(contents, ([path, bytes]) => files.write(join(partial, path), bytes));
    const entries = Array.from(contents, ([path, bytes]) => ({
      path,
      bytes: bytes.length,
      sha256: sha256(bytes),
    }));
    await files.write(join(partial, manifestName), serialiseManifest(entries));
  } catch (error) {
    // Of a full disk nothing may be left that fills it.
    await files.remove(partial);
    throw error;
  }

  await files.remove(previous);
  if (replaces) await files.rename(place, previous);
  await files.rename(partial, place);
  await files.remove(previous);
}

/** Only what an earlier snapshot wrote is ever taken away: another folder, or a file put into a snapshot, is not. */
async function mayReplace(place: string, files: Files): Promise<boolean> {
  const kind = await files.kind(place);
  if (kind === 'nothing') return false;
  if (kind === 'folder' && (await files.isEmpty(place))) return true;
  const manifest = kind === 'folder' ? await files.read(join(place, manifestName)) : undefined;
  const written = manifest ? pathsOf(manifest) : undefined;
  if (!written) {
    return fail(
      'USE_OUTPUT_TAKEN',
      'the output folder holds something that is not a snapshot; it was not touched',
      {
        at: { file: place },
        hint: 'a folder that does not exist yet, or an earlier snapshot',
      },
    );
  }
  const foreign = (await files.list(place)).filter((path) => path !== manifestName && !written.has(path));
  if (foreign.length > 0) {
    fail(
      'USE_OUTPUT_TAKEN',
      `the snapshot in the output folder also holds ${foreign.slice(0, 3).join(', ')}, which it did not write; it was not touched`,
      {
        at: { file: place },
        hint: 'to move such files elsewhere, or another output folder',
      },
    );
  }
  return true;
}

/** The paths that a manifest names; undefined for a file of that name that is none of ours. */
function pathsOf(manifest: Uint8Array): Set<string> | undefined {
  try {
    return new Set(parseManifest(new TextDecoder().decode(manifest)).map(({ path }) => path));
  } catch (error) {
    if (error instanceof ProblemError) return undefined;
    throw error;
  }
}
