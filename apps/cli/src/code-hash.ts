import { createHash } from 'node:crypto';
import { readdir, readFile } from 'node:fs/promises';

/** A hash of the code that computes, and of what runs it: with another one, results of before are not taken. */
export async function codeHash(): Promise<string> {
  const hash = createHash('sha256').update(process.version).update(process.arch);
  for (const folder of ['./', './shared/']) {
    const url = new URL(folder, import.meta.url);
    const names = (await readdir(url).catch(() => [])).filter((name) => name.endsWith('.js'));
    for (const name of names.sort()) hash.update(name).update(await readFile(new URL(name, url)));
  }
  return hash.digest('hex');
}
