import { constants } from 'node:fs';
import { access } from 'node:fs/promises';
import { delimiter, join } from 'node:path';

/** Whether this process may do something with a file or folder: `constants.X_OK`, `constants.W_OK`. */
export const may = (path: string, mode: number): Promise<boolean> =>
  access(path, mode).then(
    () => true,
    () => false,
  );

/** The Chromium that CHROMIUM_PATH names, or the first program in the path that has one of the names; undefined where there is none. */
export async function browserAtHand(names: readonly string[]): Promise<string | undefined> {
  const named = process.env['CHROMIUM_PATH'];
  const folders = (process.env['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '');
  const paths = [...(named ? [named] : []), ...folders.flatMap((f) => names.map((name) => join(f, name)))];
  for (const path of paths) if (await may(path, constants.X_OK)) return path;
  return undefined;
}
