import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { payloadFolder } from '@stillmark/formats';
import { fail, warning, type Problem } from '@stillmark/problems';
import { withLock } from '@stillmark/store';
import type { Restored } from '@stillmark/wording';
import { openArchive, type OpenArchive } from './archive-form.ts';
import { checkBag, inputsFile, projectFolder, siteFolder, type BagFile, type CheckedBag } from './bag.ts';
import type { Effects, Files } from './effects.ts';
import { placeOf } from './publish-folder.ts';

export interface RestoreResult extends Restored {
  readonly bytes: number;
  readonly problems: readonly Problem[];
}

/**
 * Writes the project and the site of an archive into a folder, whole or not at all, after every hash of it was checked.
 *
 * @throws what {@link checkBag} finds, USE_OUTPUT_TAKEN where something stands in the place
 */
export async function restore(file: string, out: string, effects: Effects): Promise<RestoreResult> {
  const { files, progress } = effects;
  const { place, beside } = await placeOf(out, files);
  await checkFree(place, files);
  const archive = await openArchive(file, files);
  progress(`checking ${file}`);
  const bag = await checkBag(archive, file);
  const wanted = new Map(
    [...bag.files.values()].filter(({ path }) => isWanted(path)).map((found) => [found.path, found]),
  );
  await withLock(beside('lock'), 'output folder', async () => {
    await checkFree(place, files);
    const partial = beside('partial');
    await files.remove(partial);
    try {
      progress(`restoring to ${out}`);
      await unpack(archive, bag, wanted, partial, files);
      await checkUnpacked(wanted, partial, files);
    } catch (error) {
      await files.remove(partial);
      throw error;
    }
    if ((await files.kind(place)) === 'folder') await files.remove(place);
    await files.rename(partial, place);
  });
  const { info } = bag;
  const said = (label: string, key: string): object => (info.has(label) ? { [key]: info.get(label) } : {});
  return {
    ...said('external-description', 'title'),
    ...said('stillmark-as-of', 'asOf'),
    ...said('stillmark-computed-by', 'computedBy'),
    inputs: wanted.has(`${payloadFolder}${inputsFile}`) ? 'hashes' : 'files',
    store: [...wanted.keys()].some((path) => path.startsWith(`${payloadFolder}${projectFolder}/store/`)),
    files: wanted.size,
    bytes: [...wanted.values()].reduce((sum, { bytes }) => sum + bytes, 0),
    problems: strangers(bag),
  };
}

const below = (folder: string): string => `${payloadFolder}${folder}/`;

function isWanted(path: string): boolean {
  return (
    path.startsWith(below(projectFolder)) ||
    path.startsWith(below(siteFolder)) ||
    path === `${payloadFolder}${inputsFile}`
  );
}

/** What somebody has put into the payload besides is whole, and stays in the archive. */
function strangers({ files }: CheckedBag): Problem[] {
  return [...files.keys()]
    .filter((path) => path.startsWith(payloadFolder) && !isWanted(path))
    .map((path) =>
      warning('ARCHIVE_FILE', 'the file belongs to neither project nor site and was not restored', {
        at: { file: path },
      }),
    );
}

async function checkFree(place: string, files: Files): Promise<void> {
  const kind = await files.kind(place);
  if (kind === 'nothing' || (kind === 'folder' && (await files.isEmpty(place)))) return;
  fail('USE_OUTPUT_TAKEN', 'something stands there already; it was not touched', {
    at: { file: place },
    hint: 'a folder that does not exist yet, or an empty one',
  });
}

async function unpack(
  archive: OpenArchive,
  { base }: CheckedBag,
  wanted: ReadonlyMap<string, BagFile>,
  folder: string,
  files: Files,
): Promise<void> {
  for await (const found of archive.entries()) {
    const expected = wanted.get(found.name.slice(base.length + 1));
    if (found.kind !== 'file' || !expected) continue;
    const path = join(folder, expected.path.slice(payloadFolder.length));
    await files.write(path, asChecked(found.content, expected));
  }
}

/** The archive may have been exchanged since it was checked. */
async function* asChecked(
  pieces: AsyncIterable<Uint8Array>,
  { path, sha256 }: BagFile,
): AsyncGenerator<Uint8Array> {
  const hash = createHash('sha256');
  for await (const piece of pieces) {
    hash.update(piece);
    yield piece;
  }
  if (hash.digest('hex') !== sha256)
    fail('ARCHIVE_CHANGED', 'the archive changed while it was read', {
      at: { file: path },
      hint: 'the restore again, when nothing writes to the archive',
    });
}

/** Some disks take names for the same that differ, in case or in the form of their accents. */
async function checkUnpacked(
  wanted: ReadonlyMap<string, BagFile>,
  folder: string,
  files: Files,
): Promise<void> {
  const there = new Set((await files.list(folder)).map((path) => `${payloadFolder}${path}`));
  const lost = [...wanted.keys()].find((path) => !there.has(path));
  if (lost !== undefined || there.size !== wanted.size)
    fail('ARCHIVE_FILE', 'the disk does not keep the names of the archive apart', {
      at: { file: lost ?? folder },
      hint: 'a disk that tells capital letters from small ones',
    });
}
