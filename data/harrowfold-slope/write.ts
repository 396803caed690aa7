/** Writes the demo project into a folder: `node write.ts FOLDER`. */
import { cp, mkdir, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { harrowfoldPositions } from './generate.ts';

export async function writeHarrowfold(folder: string, seed?: number): Promise<void> {
  await mkdir(folder, { recursive: true });
  await cp(fileURLToPath(new URL('project.yaml', import.meta.url)), join(folder, 'project.yaml'));
  for (const [file, text] of harrowfoldPositions(seed)) {
    await mkdir(dirname(join(folder, file)), { recursive: true });
    await writeFile(join(folder, file), text);
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const folder = process.argv[2];
  if (folder === undefined) {
    console.error('usage: node write.ts FOLDER');
    process.exit(2);
  }
  await writeHarrowfold(folder);
}
