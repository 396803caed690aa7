import { open, readdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';

/** Ending of files that are being written; one that is met later was left by a command that was stopped. */
export const partialEnding = '.partial';

/** Makes a file that was written beside its place take that place: whole on the disk first, then by one rename. */
export async function putInPlace(partial: string, place: string): Promise<void> {
  const handle = await open(partial, 'r+');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
  await rename(partial, place);
}

/** Removes what stopped commands left behind, below a folder. */
export async function sweepPartial(folder: string): Promise<void> {
  for (const entry of await readdir(folder, { recursive: true, withFileTypes: true })) {
    if (entry.isFile() && entry.name.endsWith(partialEnding))
      await rm(join(entry.parentPath, entry.name), { force: true });
  }
}
